import http from 'node:http';
import { jest } from '@jest/globals';
import { parse } from 'csv-parse/sync';
import { Walk } from '../../src/common/api/lists-out/walk.js';
import { readText } from '../../src/common/files/csv.js';
import { aDrive, aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { until } from '../harness/until.js';

// Lines written by PostgreSQL, compared byte by byte with those that the service writes for the same rows.

const D = '/v1/projects/P1/drives/N';
const CSV = 'text/csv';
const NDJSON = 'application/x-ndjson';

/** Texts that CSV, JSON or spreadsheets treat specially. */
const TEXTS = [
  'plain',
  '007',
  '-5',
  '+5',
  '=1+1',
  "'=1+1",
  "''+x",
  "'quoted'",
  '-1+1',
  '@SUM(A1)',
  '＝1',
  '＠x',
  'a "b", c',
  'back\\slash \\n',
  'two\nlines\r\nand\ttab',
  '\u0001\u001f\u007f control',
  'ÄÖ 𝛼 – €',
  '1e5',
  '1.50',
  '.5',
];

let app: TestApp;
let port: number;

const open = (path: string, accept: string): Promise<http.IncomingMessage> =>
  new Promise((resolve, reject) => {
    http.get({ port, path, headers: { accept }, agent: false }, resolve).once('error', reject);
  });

const answered = async (
  path: string,
  accept: string,
): Promise<{ text: string; trailers: NodeJS.Dict<string> }> => {
  const answer = await open(path, accept);
  const parts: Buffer[] = [];
  for await (const part of answer) parts.push(part as Buffer);
  return { text: Buffer.concat(parts).toString(), trailers: answer.trailers };
};

type Reads = { readLines(...args: unknown[]): Promise<boolean> };

const literal = (text: string): string => `E'${text.replaceAll('\\', '\\\\').replaceAll("'", "\\'")}'`;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  port = Number(new URL(await app.app.getUrl()).port);
  await aDrive(app, { drive: 'BELOW', startChainage: '0+300', endChainage: '-0+400', direction: -1 });
  await app.sql(
    `insert into overbreak_item (project_id, drive_id, name, from_m, to_m, cause, area_m2, volume_m3, volume_surveyed)
     select d.project_id, d.id, 'O' || n, n, n + 0.5, 'geological', 1, 0.5, false from drive d, generate_series(0, 599) n where d.code = 'BELOW'`,
  );
  const drive = `from drive d, generate_series(0, 2499) n where d.code = 'N'`;
  await app.sql(
    `insert into overbreak_item (project_id, drive_id, name, from_m, to_m, cause, area_m2, volume_m3, volume_surveyed, remark)
     select d.project_id, d.id, 'O' || n, n * 0.3, n * 0.3 + 0.2, 'geological', 1, 0.2, n % 2 = 0, (array[null, ${TEXTS.map(literal).join(', ')}])[1 + n % ${TEXTS.length + 1}] ${drive};
     insert into boring (project_id, drive_id, stroke_number, from_m, to_m, started_at, ended_at, thrust_kn, torque_knm, penetration_rate_m_per_h)
     select d.project_id, d.id, n + 1, n * 0.3, n * 0.3 + 0.3, case when n % 2 = 0 then timestamptz '2027-03-01Z' + n * interval '10 min 1.5 s' end,
       case when n % 2 = 0 then timestamptz '2027-03-01Z' + n * interval '10 min 1.5 s' + interval '9 min' end,
       (array[null, 0, 0.1, 12345.678, 1e-5, 98765.4321])[1 + n % 6], n / 7.0, null ${drive};
     select make_sample_month('2027-03-01');
     insert into machine_sample (project_id, drive_id, at, position_m, thrust_kn, torque_knm)
     select d.project_id, d.id, timestamptz '2027-03-01Z' + n * interval '1.001 s', n / 100.0, n / 3.0, case when n % 3 = 0 then 0.00001234 end ${drive}`,
  );
});

afterAll(() => app.close());
afterEach(() => jest.restoreAllMocks());

describe.each([
  ['strokes', ''],
  ['strokes', '?after=17'],
  ['samples', ''],
  ['samples', '?from=2027-03-01T00:01:00Z&to=2027-03-01T00:30:00Z'],
  ['overbreak', ''],
  ['overbreak', '?from=2%2B000&to=2%2B100'],
  ['discontinuities', ''],
])('%s%s', (list, query) => {
  it.each([CSV, NDJSON])('is the same %s from PostgreSQL and from its pages', async (accept) => {
    const reads = jest.spyOn(Walk.prototype as unknown as Reads, 'readLines');
    const written = await answered(`${D}/${list}${query}`, accept);
    expect(await reads.mock.results[0]?.value).toBe(true);
    reads.mockResolvedValue(false);
    const walked = await answered(`${D}/${list}${query}`, accept);
    expect(written.text).toBe(walked.text);
    expect(written.trailers).toEqual(walked.trailers);
  });
});

it.each([CSV, NDJSON])('chainages below 0 are the same %s', async (accept) => {
  const reads = jest.spyOn(Walk.prototype as unknown as Reads, 'readLines');
  const path = '/v1/projects/P1/drives/BELOW/overbreak';
  const written = await answered(path, accept);
  expect(written.text).toMatch(/,"'-0\+299\.|"-0\+299\./);
  expect(await reads.mock.results[0]?.value).toBe(true);
  reads.mockResolvedValue(false);
  expect(await answered(path, accept)).toEqual(written);
});

// The values of an enum are written without a search for quotation marks and formulas.
it('no value of an enum has characters that CSV or a spreadsheet treats specially', async () => {
  expect(await app.sql(`select enumlabel from pg_enum where enumlabel !~ '^[a-z][A-Za-z0-9_]*$'`)).toEqual(
    [],
  );
});

it('text that looks like a number stays text, and reads back unchanged', async () => {
  const { text } = await answered(`${D}/overbreak`, CSV);
  const remarks = (parse(text, { columns: true }) as { remark: string }[])
    .slice(1, TEXTS.length + 1)
    .map(({ remark }) => readText(remark));
  expect(remarks).toEqual(TEXTS);
  expect(text).toContain(',"007"');
  expect(text).toContain(',"-5"');
  expect(text).toContain(`,"'+5"`);
});

it.each([CSV, NDJSON])('%s of one snapshot frees its connection when its reader leaves', async (accept) => {
  const busy = () =>
    app.sql(
      `select state from pg_stat_activity where datname = current_database() and pid <> pg_backend_pid() and state <> 'idle'`,
    );
  await until(async () => (await busy()).length === 0);
  const answer = await open(`${D}/overbreak`, accept);
  await new Promise((resolve) => answer.once('data', resolve));
  answer.pause();
  expect((await busy()).length).toBe(1);
  answer.destroy();
  await until(async () => (await busy()).length === 0);
});

it('fails as a problem where its first lines fail', async () => {
  jest
    .spyOn(Walk.prototype as unknown as Reads, 'readLines')
    .mockRejectedValue(new Error('the connection broke'));
  const answer = await open(`${D}/strokes`, CSV);
  answer.resume();
  expect([answer.statusCode, answer.headers['content-type']]).toEqual([
    500,
    'application/problem+json; charset=utf-8',
  ]);
});
