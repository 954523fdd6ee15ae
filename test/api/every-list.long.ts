import { createHash } from 'node:crypto';
import http from 'node:http';
import type { OpenAPIObject } from '@nestjs/swagger';
import { parse } from 'csv-parse/sync';
import { readText } from '../../src/common/files/csv.js';
import { readXlsx } from '../../src/common/files/xlsx-read.js';
import { openApiOf } from '../../src/common/api/openapi.js';
import { Contract } from '../harness/contract.js';
import type { Operation } from './operations.js';
import { type Examples, startWithExamples } from './put-examples.js';

// Every list of the OpenAPI document has the same content as JSON, as lines of JSON, as CSV and as a workbook. Expected by RFC 4180 (read
// with csv-parse), RFC 9530 and the JSON of the same address; by `format`, the answer of the header Accept.

const JSON_TYPE = 'application/json';
const NDJSON = 'application/x-ndjson';
const CSV = 'text/csv';
const XLSX = 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet';
const FORMATS = { json: JSON_TYPE, ndjson: NDJSON, csv: CSV, xlsx: XLSX };

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
    return method === 'get' && content[CSV] !== undefined && content[JSON_TYPE] !== undefined;
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
    const { status, headers, bytes }: Sent = await ask(next, { accept: JSON_TYPE });
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

it('is declared in all forms by every operation that answers an array, or items and next', () => {
  const { schemas = {} } = document.components ?? {};
  const answering = site.operations.filter(({ method, responses }) => {
    const { content } = (responses['200'] ?? {}) as {
      content?: Record<string, { schema: { type?: string; $ref?: string } }>;
    };
    const schema = content?.[JSON_TYPE]?.schema;
    const found = schemas[schema?.$ref?.split('/').at(-1) ?? ''];
    const names = Object.keys((found && 'properties' in found && found.properties) || {});
    return (
      method === 'get' && (schema?.type === 'array' || (names.includes('items') && names.includes('next')))
    );
  });
  expect(lists.map(({ name }) => name)).toEqual(answering.map(({ name }) => name));
  expect(lists.length).toBeGreaterThan(90);
  for (const { name, responses, parameters } of lists) {
    const { content, headers } = responses['200'] as { content: object; headers: object };
    expect([name, Object.keys(content)]).toEqual([name, expect.arrayContaining([NDJSON, CSV, XLSX])]);
    expect([name, Object.keys(headers)]).toEqual([name, expect.arrayContaining(['Trailer'])]);
    const format = parameters.filter((each) => each.in === 'query' && each.name === 'format');
    expect([name, format.map(({ schema }) => schema?.enum)]).toEqual([name, [Object.keys(FORMATS)]]);
  }
});

it('has the same entries as JSON, as lines and as CSV', async () => {
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

/** A cell of a table that is not empty: a number, or text, as its quotation marks say. */
const typed = (cell: string, isQuoted: boolean): object => ({
  kind: !isQuoted && /^-?\d/.test(cell) ? 'number' : 'text',
  text: isQuoted ? readText(cell) : cell,
});

it('has the cells of its CSV as a workbook: numbers as numbers, text as text', async () => {
  let cells = 0;
  for (const operation of lists) {
    const { name } = operation;
    const address = addressOf(operation);
    const [table, book] = [await ask(address, { accept: CSV }), await ask(address, { accept: XLSX })];
    expect([name, book.status]).toEqual([name, table.status]);
    if (table.status !== 200) continue;
    expect([name, book.headers['content-type'], book.headers['content-disposition']]).toEqual([
      name,
      XLSX,
      expect.stringMatching(/^attachment; filename="[a-z-]+\.xlsx"$/),
    ]);
    const expected = parse(table.bytes, {
      record_delimiter: '\r\n',
      cast: (cell, { quoting, lines }) => (cell === '' ? undefined : typed(cell, quoting || lines === 1)),
    }) as unknown as (object | undefined)[][];
    const { rows } = readXlsx(book.bytes);
    const found = rows.map((row) => (expected[0] ?? []).map((_, column) => row.cells.get(column)));
    expect([name, found]).toEqual([name, expected]);
    cells += expected.flat().length;
  }
  expect(cells).toBeGreaterThan(1000);
});

/** An address with one more parameter. */
const asking = (address: string, format: string): string =>
  `${address}${address.includes('?') ? '&' : '?'}format=${format}`;

/** What must not depend on how the format was chosen; the link to the next page has the parameter beside it. */
const answerOf = ({ status, headers, trailers, bytes }: Sent): unknown[] => [
  status,
  headers['content-type'],
  headers['etag'],
  String(headers['link']).replace(/format=\w+&/, ''),
  trailers,
  bytes.toString('base64'),
];

it('is the same by format as by Accept, whatever Accept says beside it', async () => {
  for (const operation of lists)
    for (const [format, accept] of Object.entries(FORMATS)) {
      const address = addressOf(operation);
      const byAccept = await ask(address, { accept });
      expect([operation.name, byAccept.status < 500]).toEqual([operation.name, true]);
      const byFormat = await ask(asking(address, format), { accept: 'text/event-stream, image/png' });
      expect([operation.name, format, ...answerOf(byFormat)]).toEqual([
        operation.name,
        format,
        ...answerOf(byAccept),
      ]);
    }
});

it('refuses another format by name, as every reading that is not a list refuses the parameter', async () => {
  const readings = site.operations.filter(({ method }) => method === 'get');
  for (const operation of readings) {
    const isList = lists.includes(operation);
    const { status, bytes } = await ask(asking(addressOf(operation), isList ? 'xml' : 'csv'), {});
    const { errors } = JSON.parse(bytes.toString()) as { errors: unknown[] };
    expect([operation.name, status, errors]).toEqual([
      operation.name,
      422,
      [
        {
          in: 'query',
          pointer: '/format',
          value: isList ? 'xml' : 'csv',
          detail: isList
            ? 'format must be one of the following values: json, ndjson, csv, xlsx'
            : expect.stringContaining('unknown query parameter "format": this route takes '),
        },
      ],
    ]);
  }
});
