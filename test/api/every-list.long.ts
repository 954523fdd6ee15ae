import { createHash } from 'node:crypto';
import http from 'node:http';
import type { OpenAPIObject } from '@nestjs/swagger';
import { parse } from 'csv-parse/sync';
import { readText } from '../../src/common/files/csv.js';
import { openApiOf } from '../../src/common/api/openapi.js';
import { Contract } from '../harness/contract.js';
import type { Operation } from './operations.js';
import { type Examples, startWithExamples } from './put-examples.js';

// Every list of the OpenAPI document has the same content as JSON, as lines of JSON and as CSV. Expected by RFC 4180 (read with
// csv-parse), RFC 9530 and the JSON of the same address.

const NDJSON = 'application/x-ndjson';
const CSV = 'text/csv';

let site: Examples;
let document: OpenAPIObject;
let contract: Contract;
let port: number;
let lists: Operation[];

beforeAll(async () => {
  site = await startWithExamples();
  document = openApiOf(site.app.app);
  contract = new Contract(document);
  port = Number(new URL(await site.app.app.getUrl()).port);
  lists = site.operations.filter(({ method, responses }) => {
    const { content = {} } = (responses['200'] ?? {}) as { content?: Record<string, unknown> };
    return method === 'get' && content[CSV] !== undefined && content['application/json'] !== undefined;
  });
});

afterAll(() => site.app.close());

interface Sent {
  status: number;
  headers: http.IncomingHttpHeaders;
  trailers: NodeJS.Dict<string>;
  bytes: Buffer;
}

const ask = (address: string, headers: Record<string, string>, method = 'GET'): Promise<Sent> =>
  new Promise((resolve, reject) => {
    const request = http.request({ port, path: address, headers, method }, (answer) => {
      const parts: Buffer[] = [];
      answer.on('data', (part: Buffer) => parts.push(part));
      answer.once('error', reject);
      answer.once('end', () =>
        resolve({
          status: answer.statusCode ?? 0,
          headers: answer.headers,
          trailers: answer.trailers,
          bytes: Buffer.concat(parts),
        }),
      );
    });
    request.once('error', reject).end();
  });

const SAMPLES: Record<string, string> = { from: '1+200', to: '1+300' };

const addressOf = ({ address, parameters, path }: Operation): string => {
  const asked = parameters.filter((each) => each.in === 'query' && each.required);
  const search = asked.map(({ name, schema }) => {
    const isMoment = schema?.format === 'date-time' || path.includes('/rolling');
    const moments: Record<string, string> = { from: '2027-03-01T00:00:00Z', to: '2027-03-02T00:00:00Z' };
    return `${name}=${(isMoment ? moments[name] : SAMPLES[name]) ?? schema?.enum?.[0] ?? '10'}`;
  });
  const own = address.replace('/lines/X1/', '/lines/B.1/').replace('/webhooks/X1/', '/webhooks/BOARD/');
  return search.length === 0 ? own : `${own}?${search.join('&')}`;
};

const sha256 = (bytes: Buffer): string => `sha-256=:${createHash('sha256').update(bytes).digest('base64')}:`;

const isTaken = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** The text in the cell of a value, after the table is parsed. */
const cellOf = (value: unknown): string => {
  if (value === null || value === undefined) return '';
  return typeof value === 'object' ? JSON.stringify(value) : String(value as string);
};

/** The value for a heading: `object.property` is looked up in the object. */
const valueAt = (entry: Record<string, unknown>, heading: string): unknown =>
  heading.split('.').reduce<unknown>((found, step) => (isTaken(found) ? found[step] : undefined), entry);

/** All entries of a list from its JSON, page by page, and the fields of its last page beside them. */
const byJson = async (
  address: string,
): Promise<{ status: number; entries: Record<string, unknown>[]; head: Record<string, unknown> }> => {
  const entries: Record<string, unknown>[] = [];
  let head: Record<string, unknown> = {};
  for (let next: string | undefined = address; next !== undefined;) {
    const { status, headers, bytes }: Sent = await ask(next, { accept: 'application/json' });
    if (status !== 200) return { status, entries, head };
    const body = JSON.parse(bytes.toString()) as unknown;
    if (Array.isArray(body)) return { status, entries: body as Record<string, unknown>[], head };
    const { items, ...beside } = body as { items: Record<string, unknown>[]; next?: unknown };
    entries.push(...items);
    delete beside.next;
    head = beside;
    next = /^<([^>]+)>; rel="next"$/.exec(String(headers['link'] ?? ''))?.[1];
  }
  return { status: 200, entries, head };
};

it('is declared in three forms by every operation that answers an array, or items and next', () => {
  const { schemas = {} } = document.components ?? {};
  const answering = site.operations.filter(({ method, responses }) => {
    const { content } = (responses['200'] ?? {}) as {
      content?: Record<string, { schema: { type?: string; $ref?: string } }>;
    };
    const schema = content?.['application/json']?.schema;
    const found = schemas[schema?.$ref?.split('/').at(-1) ?? ''];
    const names = Object.keys((found && 'properties' in found && found.properties) || {});
    return (
      method === 'get' && (schema?.type === 'array' || (names.includes('items') && names.includes('next')))
    );
  });
  expect(lists.map(({ name }) => name)).toEqual(answering.map(({ name }) => name));
  expect(lists.length).toBeGreaterThan(90);
  for (const { name, responses } of lists) {
    const { content, headers } = responses['200'] as { content: object; headers: object };
    expect([name, Object.keys(content)]).toEqual([name, expect.arrayContaining([NDJSON, CSV])]);
    expect([name, Object.keys(headers)]).toEqual([name, expect.arrayContaining(['Trailer'])]);
  }
});

it('has the same entries in all three', async () => {
  const seen: string[] = [];
  for (const operation of lists) {
    const { name, path } = operation;
    const address = addressOf(operation);
    const { status, entries, head } = await byJson(address);
    const [lines, table] = [await ask(address, { accept: NDJSON }), await ask(address, { accept: CSV })];
    expect([name, lines.status, table.status]).toEqual([name, status, status]);
    if (status !== 200) continue;
    for (const { headers, bytes } of [lines, table]) {
      const plain = new Headers(
        Object.entries(headers).map(([key, value]): [string, string] => [key, String(value)]),
      );
      const text = bytes.toString();
      const found = contract.fault({ method: 'GET', path, status, headers: plain, text });
      expect([name, found]).toEqual([name, undefined]);
    }

    const text = lines.bytes.toString();
    const last = text.trimEnd().lastIndexOf('\n') + 1;
    const read = text.slice(0, last).split('\n').filter(Boolean);
    expect([name, read.map((line) => JSON.parse(line) as unknown)]).toEqual([name, entries]);
    expect([name, JSON.parse(text.slice(last))]).toEqual([
      name,
      { $end: { count: entries.length, digest: sha256(Buffer.from(text.slice(0, last))), ...head } },
    ]);

    const rows = parse(table.bytes, { columns: true, record_delimiter: '\r\n' }) as Record<string, string>[];
    const headings = (parse(table.bytes, { to: 1 }) as string[][])[0] ?? [];
    const shown = entries.map((entry) =>
      Object.fromEntries(
        headings.map((heading) => [
          heading,
          cellOf(heading in head ? head[heading] : valueAt(entry, heading)),
        ]),
      ),
    );
    const asRead = rows.map((row) =>
      Object.fromEntries(Object.entries(row).map(([heading, cell]) => [heading, readText(cell)])),
    );
    expect([name, asRead]).toEqual([name, shown]);
    const [first] = entries;
    // each property is a column, or its own properties are
    for (const property of Object.keys(first ?? {}))
      expect([name, property, headings.some((each) => each.split('.')[0] === property)]).toEqual([
        name,
        property,
        true,
      ]);
    expect([name, table.trailers]).toEqual([
      name,
      { 'content-digest': sha256(table.bytes), 'x-row-count': String(entries.length) },
    ]);
    if (entries.length > 0) seen.push(name);
  }
  expect(seen.length).toBeGreaterThan(40);
});
