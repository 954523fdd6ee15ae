import { once } from 'node:events';
import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { createApp } from '../../../src/app.js';
import { ProblemError } from '../../../src/common/api/problem.js';
import { loadConfig } from '../../../src/common/config/config.js';
import { JobRunner } from '../../../src/common/jobs/job-runner.service.js';
import { type JobContext, JobKinds, type JobProgress } from '../../../src/common/jobs/job-kinds.js';
import { ZipIn } from '../../../src/common/files/zip-in.js';
import { PEPPER } from '../../harness/app.js';
import { type Office, startOffice } from '../../harness/office.js';
import { oneAtATime } from '../../harness/schema-once.js';
import { until } from '../../harness/until.js';

// Jobs as seen by their requester, and what happens to them when instances of the service end, die or compete.

const ZIP = 'application/zip';
const JOBS = '/v1/projects/P/jobs';

let folder: string;
let office: Office;
const others: NestFastifyApplication[] = [];

/** What the trial kind does with a job, by its number. */
const tasks = new Map<
  number,
  (context: JobContext, progress: JobProgress, signal: AbortSignal) => Promise<void>
>();
/** The numbers of jobs as they were started, on any instance. */
const begun: number[] = [];

const trial = (app: NestFastifyApplication): void =>
  app.get(JobKinds).register({
    name: 'trial',
    run: async (context, progress, signal) => {
      begun.push(context.number);
      const file = await context.place('txt');
      await tasks.get(context.number)?.(context, progress, signal);
      signal.throwIfAborted();
      await writeFile(file, `result of ${context.number}`);
      return { path: file, name: 'trial.txt', mediaType: 'text/plain' };
    },
  });

/** Runs until the job is cancelled. */
const forever = async (_: JobContext, progress: JobProgress, signal: AbortSignal): Promise<void> => {
  progress(40, 'waiting for the end');
  if (!signal.aborted) await once(signal, 'abort');
  signal.throwIfAborted();
};

const ada = () => office.as('ada').http;

interface Shown {
  number: number;
  state: string;
  percent: number;
  step: string | null;
  problem: string | null;
  resultUrl: string | null;
}

const shown = async (number: number): Promise<Shown> => (await ada().get(`${JOBS}/${number}`)).body as Shown;

const untilState = (number: number, ...states: string[]): Promise<void> =>
  until(async () => states.includes((await shown(number)).state));

/** Creates a trial job bypassing the API, as a feature would. */
const ask = async (task?: Parameters<typeof tasks.set>[1], more = '', project = 'P'): Promise<number> => {
  const [row] = await office.sql<{ id: number }>(`select nextval('job_id_seq')::int as id`);
  const id = row?.id ?? 0;
  if (task) tasks.set(id, task);
  await office.sql(
    `insert into job (id, project_id, kind, asked_by ${more === '' ? '' : ', state, attempts, lease_until'}) select ${id}, id, 'trial', 'ada' ${more} from project where code = '${project}'`,
  );
  for (const app of [office.app, ...others]) app.get(JobRunner).look();
  return id;
};

const results = (): string[] => {
  const place = path.join(folder, 'results');
  return existsSync(place)
    ? readdirSync(place).flatMap((project) => readdirSync(path.join(place, project)))
    : [];
};

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'jobs-'));
  office = await startOffice('ada', ['vera', 'erik'], { JOBS: 'on', ATTACHMENTS_DIR: folder });
  for (const code of ['P', 'Q'])
    await office.sql(
      `insert into project (code, name, time_zone, currency) values ($1, 'Trial', 'UTC', 'EUR')`,
      [code],
    );
  await office.employ('P', { vera: 'viewer', erik: 'engineer' });
  trial(office.app);
});

afterAll(async () => {
  for (const other of others) await other.close();
  await office.close();
  rmSync(folder, { recursive: true });
});

it('a handover package is written by a job: requested, followed and downloaded, by administrators only', async () => {
  const asked = await ada().post('/v1/projects/P/handover').send({});
  expect([asked.status, asked.headers['location'], asked.body]).toEqual([
    202,
    expect.stringMatching(/^\/v1\/projects\/P\/jobs\/\d+$/),
    expect.objectContaining({ kind: 'handover', percent: 0, askedBy: 'ada', input: {} }),
  ]);
  const { number } = asked.body as Shown;
  const address = String(asked.headers['location']);
  // the stream ends with the job
  const events = await ada().get(address).set('accept', 'text/event-stream').buffer(true);
  const reported = events.text
    .split('\n')
    .filter((line) => line.startsWith('data: '))
    .map((line) => JSON.parse(line.slice('data: '.length)) as Shown);
  expect(reported.at(-1)).toMatchObject({ number, state: 'done', percent: 100, problem: null });
  const { body: job } = (await ada().get(address)) as { body: Shown };
  expect(job).toEqual(reported.at(-1));
  const url = job.resultUrl ?? '';
  const taken = await ada()
    .get(url)
    .buffer(true)
    .parse((response, done) => {
      const pieces: Buffer[] = [];
      response.on('data', (piece: Buffer) => pieces.push(piece));
      response.on('end', () => done(null, Buffer.concat(pieces)));
    });
  expect([taken.status, taken.headers['content-type'], taken.headers['content-disposition']]).toEqual([
    200,
    ZIP,
    'attachment; filename="handover-P.zip"',
  ]);
  const file = path.join(folder, 'taken.zip');
  writeFileSync(file, taken.body as Buffer);
  const zip = await ZipIn.open(file);
  expect(zip.names).toEqual(expect.arrayContaining(['manifest.json', 'verify.mjs', 'record/record.json']));
  await zip.close();
  const etag = String(taken.headers['etag']);
  expect((await ada().get(url).set('if-none-match', etag)).status).toBe(304);
  expect((await ada().get(url).set('if-match', '"other"')).status).toBe(412);
  const { body } = await ada()
    .post('/graphql')
    .send({
      query: `{ project(project: "P") { jobs { nodes { number state resultUrl } } job(number: ${number}) { percent askedBy } } }`,
    });
  expect(body).toEqual({
    data: {
      project: {
        jobs: { nodes: [{ number, state: 'done', resultUrl: url }] },
        job: { percent: 100, askedBy: 'ada' },
      },
    },
  });
  for (const who of ['vera', 'erik']) {
    const { http } = office.as(who);
    const answers = [
      await http.get(address),
      await http.get(url),
      await http.post('/v1/projects/P/handover').send({}),
      await http.delete(address),
    ];
    expect(answers.map(({ status }) => status)).toEqual([404, 404, 403, 404]); // not those of others
    expect((await http.get(JOBS)).body).toMatchObject({ items: [] });
  }
  // of another project
  const elsewhere = address.replace('/P/', '/Q/');
  expect([
    (await ada().get(elsewhere)).status,
    (await ada().get(url.replace('/P/', '/Q/'))).status,
    (await ada().delete(elsewhere)).status,
  ]).toEqual([404, 404, 404]);
  expect((await ada().delete(address)).status).toBe(204);
  expect((await ada().get(url)).status).toBe(404);
  expect(results()).toEqual([]);
});

it('invalid requests are refused', async () => {
  const { body } = await ada().post('/v1/projects/P/handover').send({ drive: 'X' });
  expect(body).toMatchObject({ status: 404, detail: 'There is no drive X in project P.' });
  const unknown = await ada().post('/v1/projects/P/handover').send({ drives: 'N' });
  expect(unknown.body).toMatchObject({ status: 422, errors: [{ pointer: '/drives', value: 'N' }] });
  expect((await ada().get(`${JOBS}?kind=trial`)).status).toBe(422);
  expect((await ada().get(`${JOBS}/0`)).status).toBe(422);
});

it('a job reports progress; a failure is explained to its requester, or logged', async () => {
  const running = await ask(forever);
  await until(async () => (await shown(running)).percent === 40);
  expect(await shown(running)).toMatchObject({
    state: 'running',
    step: 'waiting for the end',
    problem: null,
  });
  const early = await ada().get(`${JOBS}/${running}/result`);
  expect(early.body).toMatchObject({ status: 409, detail: `job ${running} is running: it has no result` });
  expect((await ada().delete(`${JOBS}/${running}`)).status).toBe(204);
  const refused = await ask(() => Promise.reject(new ProblemError('conflict', 'There is nothing to do.')));
  await untilState(refused, 'failed');
  expect((await shown(refused)).problem).toBe('There is nothing to do.');
  const broken = await ask(() => Promise.reject(new Error('secret path /srv/x')));
  await untilState(broken, 'failed');
  expect((await shown(broken)).problem).toBe(
    `It failed inside the service; the log has the reason under job ${broken}.`,
  );
});

it('a cancelled job stops at once and is gone; cancelled twice, it is not found', async () => {
  let calledOff = false;
  const number = await ask(async (context, progress, signal) => {
    await forever(context, progress, signal).finally(() => (calledOff = true));
  });
  await untilState(number, 'running');
  expect((await ada().delete(`${JOBS}/${number}`)).status).toBe(204);
  await until(() => calledOff);
  expect((await ada().delete(`${JOBS}/${number}`)).body).toMatchObject({
    status: 404,
    detail: `There is no job ${number} in project P.`,
  });
  expect(results().filter((name) => name.startsWith(`${number}-`))).toEqual([]);
});

it('a job whose instance died is restarted when its lease expires, three times at most', async () => {
  const died = await ask(undefined, `, 'running', 1, clock_timestamp() - interval '1 second'`);
  await untilState(died, 'done');
  const [row] = await office.sql<{ attempts: number; file: string }>(
    `select attempts, result_file as file from job where id = ${died}`,
  );
  expect(row).toEqual({ attempts: 2, file: `${died}-2.txt` });
  const again = await ask(undefined, `, 'running', 3, clock_timestamp() - interval '1 second'`);
  await untilState(again, 'failed');
  expect((await shown(again)).problem).toBe(
    'It was begun 3 times, and the service ended each time before it did.',
  );
  const leased = await ask(undefined, `, 'running', 1, clock_timestamp() + interval '1 hour'`);
  // an attempt that has lost its lease writes nothing
  expect(await office.sql(`select renew_job(${leased}, 2, 50, 'x', 30) as held`)).toEqual([{ held: false }]);
  expect(
    await office.sql(`select settle_job(${leased}, 2, 'x', null, null, null, null, null, 60) as held`),
  ).toEqual([{ held: false }]);
  expect(await shown(leased)).toMatchObject({ state: 'running', percent: 0 });
  expect(begun).not.toContain(leased);
  await office.sql(`delete from job where id = ${leased}`);
});

const instance = async (): Promise<NestFastifyApplication> => {
  const config = {
    ...loadConfig({
      API_KEY_PEPPER: PEPPER,
      WEBHOOK_SENDING: 'off',
      ALERT_INTERVAL_S: '0',
      ATTACHMENTS_DIR: folder,
    }),
    databaseUrl: office.url,
    logLevel: 'silent' as const,
  };
  const app = await oneAtATime(async () => {
    const made = await createApp(config);
    await made.init();
    return made;
  });
  trial(app);
  others.push(app);
  return app;
};

it('several instances do not run a job twice; one that ends returns its job, and another continues it', async () => {
  const occupying = await ask(forever, '', 'Q');
  await until(() => begun.includes(occupying));
  const other = await instance();
  const number = await ask(forever);
  await until(() => begun.includes(number)); // by the other one: the first is busy
  await other.close();
  others.pop();
  expect(await office.sql(`select state::text, attempts, lease_until from job where id = ${number}`)).toEqual(
    [{ state: 'waiting', attempts: 0, lease_until: null }],
  );
  tasks.delete(number);
  expect((await ada().delete(`/v1/projects/Q/jobs/${occupying}`)).status).toBe(204);
  await untilState(number, 'done');
  expect(begun.filter((each) => each === number)).toHaveLength(2);
  expect(results().filter((name) => name.startsWith(`${number}-`))).toEqual([`${number}-1.txt`]);

  const second = await instance();
  // both look for each job; the first to lease it runs it
  for (let n = 0; n < 5; n += 1) {
    const given = await ask();
    await untilState(given, 'done');
    expect(begun.filter((each) => each === given)).toEqual([given]);
  }
  await second.close();
  others.pop();
});

it('expired jobs are removed with their files; the newest three results stay', async () => {
  await office.sql('delete from job');
  const numbers: number[] = [];
  for (let n = 0; n < 4; n += 1) {
    const number = await ask();
    await untilState(number, 'done');
    numbers.push(number);
  }
  const [oldest = 0, ...newest] = numbers;
  await until(async () => (await shown(oldest)).resultUrl === null);
  expect((await ada().get(`${JOBS}/${oldest}/result`)).body).toMatchObject({
    detail: `job ${oldest} has no result any more`,
  });
  for (const number of newest) expect((await shown(number)).resultUrl).not.toBeNull();
  await office.sql(
    `update job set kept_until = clock_timestamp() - interval '1 second' where id = ${newest[0]}`,
  );
  await office.sql('select * from sweep_jobs(3)');
  expect((await ada().get(`${JOBS}/${newest[0]}`)).status).toBe(404);
});
