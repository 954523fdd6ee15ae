import http from 'node:http';
import { jest } from '@jest/globals';
import { parse } from 'csv-parse/sync';
import { Database } from '../../src/common/database/database.js';
import type { Gate } from '../../src/common/database/gate.js';
import { cellOf } from '../../src/common/api/lists-out/csv-columns.js';
import { Walk } from '../../src/common/api/lists-out/walk.js';
import { readText } from '../../src/common/files/csv.js';
import { readXlsx, type Sheet, type SheetValue } from '../../src/common/files/xlsx-read.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { until } from '../harness/until.js';

// Lists longer than a page, as lines of JSON and as CSV: complete and of one state; truncated and reported as such; abandoned by the reader.

const D = '/v1/projects/P1/drives/N';
const COUNT = 2500;

let app: TestApp;
let port: number;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  port = Number(new URL(await app.app.getUrl()).port);
  await app.sql(
    `insert into overbreak_item (project_id, drive_id, name, from_m, to_m, cause, area_m2, volume_m3, volume_surveyed, remark)
     select d.project_id, d.id, 'O' || n, n * 0.3, n * 0.3 + 0.2, 'geological', 1, 0.2, false, rpad('', 300, 'rock ') from drive d, generate_series(0, ${COUNT - 1}) n
     where d.code = 'N'`,
  );
});

afterAll(() => app.close());
afterEach(() => jest.restoreAllMocks());

const open = (address: string, accept: string, headers: object = {}): Promise<http.IncomingMessage> =>
  new Promise((resolve, reject) => {
    http
      .get({ port, path: address, headers: { accept, ...headers }, agent: false }, resolve)
      .once('error', reject);
  });

const textOf = async (answer: http.IncomingMessage): Promise<string> => {
  const parts: Buffer[] = [];
  for await (const part of answer) parts.push(part as Buffer);
  return Buffer.concat(parts).toString();
};

const CSV = 'text/csv';
const NDJSON = 'application/x-ndjson';
const XLSX = 'application/vnd.openxmlformats-officedocument.spreadsheetml.sheet';

it('is complete, however many pages it has, and a page where first is given', async () => {
  const table = await open(`${D}/overbreak`, CSV);
  const rows = parse(await textOf(table), { columns: true }) as { name: string }[];
  expect(rows.map(({ name }) => name)).toEqual(Array.from({ length: COUNT }, (_, n) => `O${n}`));
  expect([table.headers['link'], table.trailers['x-row-count']]).toEqual([undefined, String(COUNT)]);
  expect(table.headers['content-type']).toBe('text/csv; charset=utf-8; header=present');
  const page = await open(`${D}/overbreak?first=3`, CSV);
  expect((parse(await textOf(page), { columns: true }) as unknown[]).length).toBe(3);
  expect(page.headers['link']).toBe(`<${D}/overbreak?first=3&after=0.600%7EO2>; rel="next"`);
  const rest = await open(`${D}/overbreak?after=0.600~O2`, CSV);
  await textOf(rest);
  expect(rest.trailers['x-row-count']).toBe(String(COUNT - 3));
});

it('is in the format that the address names, whatever Accept says, and so are the pages that follow', async () => {
  const page = await open(`${D}/overbreak?format=csv&first=3`, 'text/html');
  const text = await textOf(page);
  expect([page.statusCode, page.headers['content-type']]).toEqual([
    200,
    'text/csv; charset=utf-8; header=present',
  ]);
  expect(text).toBe(await textOf(await open(`${D}/overbreak?first=3`, CSV)));
  expect(page.headers['link']).toBe(`<${D}/overbreak?format=csv&first=3&after=0.600%7EO2>; rel="next"`);
  const json = await open(`${D}/overbreak?first=3&format=json`, CSV);
  expect((JSON.parse(await textOf(json)) as { items: object[] }).items.length).toBe(3);
  expect(json.headers['link']).toBe(`<${D}/overbreak?first=3&format=json&after=0.600%7EO2>; rel="next"`);
  const { status, headers } = await app.http.head(`${D}/overbreak?format=ndjson`);
  expect([status, headers['content-type']]).toEqual([200, 'application/x-ndjson; charset=utf-8']);
});

it('is JSON, not a stream of events, where the address says so', async () => {
  const answer = await open('/v1/projects/P1/changes?format=json', 'text/event-stream');
  expect([answer.headers['content-type'], JSON.parse(await textOf(answer))]).toEqual([
    'application/json; charset=utf-8',
    expect.objectContaining({ items: expect.any(Array) as unknown }),
  ]);
});

it.each([
  ['format=xml', 'format must be one of the following values: json, ndjson, csv, xlsx'],
  ['format=CSV', 'format must be one of the following values: json, ndjson, csv, xlsx'],
  ['format=', 'format must be one of the following values: json, ndjson, csv, xlsx'],
  ['format=constructor', 'format must be one of the following values: json, ndjson, csv, xlsx'],
  ['format=csv&format=json', 'format is given 2 times: it takes one value'],
])('refuses %s', async (search, detail) => {
  const { status, body } = await app.http.get(`${D}/overbreak?${search}`);
  expect([status, body.errors]).toEqual([
    422,
    [expect.objectContaining({ in: 'query', pointer: '/format', detail })],
  ]);
});

it.each([`${D}`, `${D}/progress`, '/v1/health'])(
  'is the only one to take a format: not %s',
  async (address) => {
    const { status, body } = await app.http.get(`${address}?format=csv`);
    expect([status, body.detail]).toEqual([
      422,
      expect.stringContaining('unknown query parameter "format": this route takes '),
    ]);
  },
);

it('is one snapshot of the record, whatever is written while it is read', async () => {
  const answer = await open(`${D}/overbreak`, NDJSON);
  const parts = answer[Symbol.asyncIterator]() as AsyncIterator<Buffer>;
  let text = String((await parts.next()).value);
  expect((await app.http.delete(`${D}/overbreak/O${COUNT - 1}`)).status).toBe(204);
  const put = await app.http
    .put(`${D}/overbreak/LATE`)
    .send({ from: '2+190', to: '2+191', cause: 'geological', areaM2: '1' });
  expect(put.status).toBe(201);
  for (let next = await parts.next(); !next.done; next = await parts.next()) text += String(next.value);
  const names = text.split('\n').flatMap((line) => (line === '' ? [] : [JSON.parse(line) as object]));
  expect(names.at(-1)).toMatchObject({ $end: { count: COUNT } });
  expect(names.at(-2)).toMatchObject({ name: `O${COUNT - 1}` });
});

it('is refused before it begins, by a problem', async () => {
  for (const [address, status] of [
    [`${D}/overbreak?from=9%2B999`, 422],
    [`${D}/overbreak?first=0`, 422],
    [`${D}/overbreak?format=xml`, 422],
    ['/v1/projects/P1/drives/NONE/overbreak', 404],
  ] as const) {
    const answer = await open(address, CSV);
    expect([address, answer.statusCode, answer.headers['content-type']]).toEqual([
      address,
      status,
      'application/problem+json; charset=utf-8',
    ]);
    expect(answer.headers['trailer']).toBeUndefined();
    answer.resume();
  }
  const none = await open(`${D}/overbreak`, 'text/html');
  expect([none.statusCode, JSON.parse(await textOf(none)).detail]).toEqual([
    406,
    `This resource is available only as application/json or application/x-ndjson or text/csv or ${XLSX}, which Accept excludes.`,
  ]);
});

it.each([CSV, NDJSON])('%s that fails midway is cut off without an end', async (accept) => {
  const pages = Walk.prototype as unknown as { page(after?: string): Promise<Record<string, unknown>> };
  const { page } = pages;
  let asked = 0;
  jest.spyOn(pages, 'page').mockImplementation(function (this: Walk, after) {
    asked += 1;
    return asked > 2 ? Promise.reject(new Error('the connection broke')) : page.call(this as never, after);
  });
  let text = '';
  const answer = await open(`${D}/overbreak`, accept);
  const read = async (): Promise<void> => {
    for await (const part of answer) text += String(part);
  };
  await expect(read()).rejects.toThrow('aborted');
  expect(text).toContain('O999');
  expect(text).not.toContain('$end');
  expect(answer.trailers).toEqual({});
});

it('frees its connection when its reader leaves', async () => {
  const database = app.app.get(Database);
  const admission = (database['gate'] as Gate).admission;
  const before = admission.state.heavy.inUse;
  const answer = await open(`${D}/overbreak`, CSV);
  await new Promise((resolve) => answer.once('data', resolve));
  answer.pause();
  answer.destroy();
  await until(() => Promise.resolve(admission.state.heavy.inUse === before));
  const held = () =>
    app.sql(
      `select state from pg_stat_activity where datname = current_database() and state like 'idle in transaction%'`,
    );
  await until(async () => (await held()).length === 0); // its transaction ends a little later
  expect(await held()).toEqual([]);
});

it('has headers by HEAD, and no body', async () => {
  const { status, headers, text } = await app.http.head(`${D}/overbreak`).set('accept', CSV);
  expect([status, headers['content-type'], text ?? '']).toEqual([
    200,
    'text/csv; charset=utf-8; header=present',
    '',
  ]);
});

describe('a workbook', () => {
  const bookOf = async (address: string): Promise<Sheet> => {
    const parts: Buffer[] = [];
    for await (const part of await open(address, XLSX)) parts.push(part as Buffer);
    return readXlsx(Buffer.concat(parts));
  };

  it('has all entries, or those of a page, under the names of the columns', async () => {
    await app.sql(`update overbreak_item set remark = '=1+1' where name = 'O0'`);
    const { name, rows } = await bookOf(`${D}/overbreak`);
    expect([name, rows.length]).toEqual(['overbreak', 1 + COUNT]);
    const headings = [...(rows[0]?.cells.values() ?? [])].map(({ text }) => text);
    const [first = new Map<number, SheetValue>()] = rows.slice(1).map(({ cells }) => cells);
    expect(['name', 'areaM2', 'remark'].map((column) => first.get(headings.indexOf(column)))).toEqual([
      { kind: 'text', text: 'O0' },
      { kind: 'number', text: '1.000' },
      { kind: 'text', text: '=1+1' },
    ]);
    expect((await bookOf(`${D}/overbreak?first=3`)).rows.length).toBe(4);
  });

  it('is refused for more entries than it holds, naming the format that has no limit', async () => {
    const pages = Walk.prototype as unknown as { page(after?: string): Promise<Record<string, unknown>> };
    const { page } = pages;
    jest.spyOn(pages, 'page').mockImplementation(async function (this: Walk) {
      return { ...(await page.call(this as never)), next: 'O999' }; // the first page, without an end
    });
    const { status, body } = await app.http.get(`${D}/overbreak?format=xlsx`);
    expect([status, body.detail]).toEqual([
      422,
      'This list has more than 20000 entries, the most that a workbook holds: ask for CSV (format=csv), or for a part of the list',
    ]);
    jest.restoreAllMocks();
    await app.sql(`update overbreak_item set remark = rpad('', 32768, 'rock ') where name = 'O7'`);
    const long = await app.http.get(`${D}/overbreak?format=xlsx`);
    expect([long.status, long.body.detail]).toEqual([
      422,
      expect.stringContaining('has 32768 characters, and one of a workbook at most 32767: ask for CSV'),
    ]);
  });
});

describe('a cell', () => {
  it.each([
    [-1.5, '-1.5'],
    ['-1.500', '-1.500'],
    ['0', '0'],
    ['-7', '-7'],
    [true, 'true'],
    [null, ''],
    ['', '""'],
    ['a "b"', '"a ""b"""'],
    ['=1+1', `"'=1+1"`],
    ['+41 1', `"'+41 1"`],
    ['-1+1', `"'-1+1"`],
    ['-0+420.000', `"'-0+420.000"`],
    ['@SUM(A1)', `"'@SUM(A1)"`],
    ["'=x", `"''=x"`],
    ['\tx', `"'\tx"`],
    ['=1', `"'=1"`],
    [['a', 1], '"[""a"",1]"'],
  ])('of %j is %s', (value, cell) => {
    expect(cellOf(value)).toBe(cell);
    const [[read = ''] = []] = parse(`${cell}\r\n`, { relax_column_count: true }) as string[][];
    const expected = value === null ? '' : typeof value === 'object' ? JSON.stringify(value) : String(value);
    expect(readText(read)).toBe(expected);
  });
});
