import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalToOwner } from '../harness/service-role.js';

// The rules that the database enforces for jobs, even when the service is bypassed.

let database: TestDatabase;
let client: pg.Client;

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await client.connect();
  await client.query(
    `insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'UTC', '06:00', 'EUR'), (2, 'Q', 'Trial', 'UTC', '06:00', 'EUR')`,
  );
});

afterAll(async () => {
  await client.end();
  await database.drop();
});

const refusal = (sql: string): Promise<string> => refusalToOwner(client, sql);

const job = (values: string, columns = 'kind', project = 1): string =>
  `insert into job (project_id, ${columns}) values (${project}, ${values})`;

const DONE = `'done', now(), now()`;
const RESULT = 'result_file, result_name, result_type, result_bytes, result_sha256';
const done = (result: string): string =>
  job(`'trial', ${DONE}, ${result}`, `kind, state, ended_at, kept_until, ${RESULT}`);
const SHA = `repeat('0', 64)`;

it.each([
  ['its kind is a word', job(`'A b'`), 'job_kind'],
  ['its input is an object', job(`'trial', '[]'`, 'kind, input'), 'job_input'],
  ['its result is an object', job(`'trial', '[]'`, 'kind, outcome'), 'job_outcome'],
  ['an upload lies in no other folder', job(`'trial', '{"upload": "../x"}'`, 'kind, input'), 'job_upload'],
  ['progress is at most 100', job(`'trial', 101`, 'kind, percent'), 'job_percent'],
  ['attempts are counted from 0', job(`'trial', -1`, 'kind, attempts'), 'job_attempts'],
  ['a running job has a lease', job(`'trial', 'running'`, 'kind, state'), 'job_leased'],
  ['a waiting job is not leased', job(`'trial', now()`, 'kind, lease_until'), 'job_leased'],
  ['a finished job has an end', job(`'trial', 'done'`, 'kind, state'), 'job_ended'],
  ['an ended job has an expiry', job(`'trial', 'done', now()`, 'kind, state, ended_at'), 'job_ended'],
  [
    'a failed job has a problem',
    job(`'trial', 'failed', now(), now()`, 'kind, state, ended_at, kept_until'),
    'job_problem',
  ],
  ['a waiting job has no problem', job(`'trial', 'why'`, 'kind, problem'), 'job_problem'],
  ['a result has all of its facts', done(`'1-1.zip', 'a.zip', null, 1, ${SHA}`), 'job_result'],
  [
    'a waiting job has no result',
    job(`'trial', '1-1.zip', 'a.zip', 'application/zip', 1, ${SHA}`, `kind, ${RESULT}`),
    'job_result',
  ],
  [
    'a result lies in no other folder',
    done(`'../1.zip', 'a.zip', 'application/zip', 1, ${SHA}`),
    'job_result_file',
  ],
  ['a result has a digest', done(`'1.zip', 'a.zip', 'application/zip', 1, 'x'`), 'job_result_file'],
  ['one of a kind at a time', `${job(`'trial'`)}; ${job(`'trial'`)}`, 'of kind trial is waiting or running'],
  [
    'no more than ten per day',
    `insert into job (project_id, kind, state, ended_at, kept_until) select 1, 'trial', 'done', now(), now() from generate_series(1, 10); ${job(`'trial'`)}`,
    'a project has at most 10 jobs of kind trial in 24 hours',
  ],
])('%s', async (_, sql, expected) => {
  expect(await refusal(sql)).toContain(expected);
});

it('another kind, and another project, have jobs beside it', async () => {
  const sql = `${job(`'trial'`)}; ${job(`'other'`)}; ${job(`'trial'`, 'kind', 2)}; do $$ begin raise exception 'taken'; end $$`;
  expect(await refusal(sql)).toContain('taken');
});
