import { jest } from '@jest/globals';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import pg from 'pg';
import supertest from 'supertest';
import { createApp } from '../../../src/app.js';
import { loadConfig } from '../../../src/common/config/config.js';
import { Database } from '../../../src/common/database/database.js';
import { JudgementKeeper } from '../../../src/features/support/missing-support/judgement-keeper.service.js';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { until } from '../../harness/until.js';

// The service caches the assessment of every drive that is read: JUDGEMENT_KEPT_FROM_MS=0.
//
// By hand: strokes of 2 m, 1 bolt/m demanded in L1. Day 1 bores 1+200 to 1+206 with 6 bolts: nothing is
// missing. Each night after it bores 2 m more without any: 2 bolts are missing.

let app: TestApp;
let other: NestFastifyApplication | undefined;

const P = '/v1/projects/P1';
const N = `${P}/drives/N`;

beforeAll(async () => {
  app = await startApp({ JUDGEMENT_KEPT_FROM_MS: '0' });
  await aProject(app);
  const item = { item: 'BOLT', zone: 'L1', quantityPerM: '1', tolerancePercent: '0' };
  await app.http
    .put(`${P}/ground-classes/A/standard-support`)
    .send({ edition: 'x', items: [item] })
    .expect((answer) => {
      if (answer.status >= 300) throw new Error(answer.text);
    });
  await app.sql(`insert into drive_support_limit (drive_id, zone, limit_m) select id, 'L1', 0 from drive`);
});

afterAll(async () => {
  await other?.close();
  await app.close();
});

let nights = 0;

const put = async (built: ReturnType<typeof aShift>): Promise<void> => {
  await app.http
    .put(`${N}/shifts/${built.date}/${built.shift}`)
    .send(built.build())
    .expect((answer) => {
      if (answer.status >= 300) throw new Error(answer.text);
    });
};

const firstDay = (): ReturnType<typeof aShift> => {
  const day = aShift('2027-03-01', 'day');
  for (const n of [0, 1, 2])
    day.withStroke(n + 1, `1+20${2 * n}`, `1+20${2 * n + 2}`, `0${6 + n}:00`, `0${6 + n}:30`);
  return day.withSupport('BOLT', '1+200', '1+206', '6').withGround('A', '1+200', '1+206');
};

/** Two metres more without support. */
const oneMore = async (): Promise<void> => {
  nights += 1;
  const [from, to] = [1204 + 2 * nights, 1206 + 2 * nights].map((m) => `1+${m - 1000}`) as [string, string];
  await put(
    aShift(`2027-03-0${nights}`, 'night')
      .withStroke(3 + nights, from, to, '19:00', '20:00')
      .withGround('A', from, to),
  );
};

const incomplete = async (of: Pick<TestApp, 'http'> = app, query = ''): Promise<string> => {
  const { body } = await of.http.get(`${N}/unsupported-length${query}`).expect(200);
  return (
    (body as { zones: { zone: string; incompleteM: string }[] }).zones.find(({ zone }) => zone === 'L1')
      ?.incompleteM ?? ''
  );
};

const stands = async (): Promise<boolean> =>
  (
    await app.sql<{ is: boolean }>(
      `select report_kept.judgement_stands(id) as is from drive where code = 'N'`,
    )
  )[0]?.is ?? false;

/** Makes the cache differ from the record, which shows who reads it. */
const tamper = async (): Promise<void> => {
  await app.sql(`update kept.unsupported set incomplete_m = 0`);
};

it('a reading uses the cache, after each write too, and never an outdated one', async () => {
  await put(firstDay());
  await oneMore();
  expect(await stands()).toBe(false);
  expect(Number(await incomplete())).toBe(2);
  await until(stands);
  expect(Number(await incomplete())).toBe(2);
  await tamper();
  expect(Number(await incomplete())).toBe(0); // the cache was read
  expect(Number(await incomplete(app, `?asOf=${new Date().toISOString()}`))).toBe(2); // not as of a moment

  await oneMore();
  expect(Number(await incomplete())).toBe(4); // assessed again, or already cached again
  await until(stands);
  expect(Number(await incomplete())).toBe(4);
});

it('a drive that has been read is assessed after each change that concerns it, without a further request', async () => {
  await incomplete();
  await until(stands);
  await oneMore();
  await until(stands); // without a reading in between
  const kept = await app.sql('select change, kept_at from kept.judgement');
  await app.http.put(`${P}/equipment/BELT`).send({ description: 'Belt' }).expect(201);
  expect(await stands()).toBe(true);
  expect(Number(await incomplete())).toBe(2 * nights);
  expect(await app.sql('select kept_at from kept.judgement')).toEqual(
    kept.map(({ kept_at }) => ({ kept_at })),
  );
});

/** Every answer based on it. */
const answers = async (): Promise<string[]> => {
  const paths = [
    'unsupported-length',
    'before-next-stroke?strokeLengthM=1.7',
    'missing-support',
    'missing-support?lengthM=3',
    'missing-support?from=1%2B201&to=1%2B209',
    'missing-support?state=missing',
    'support-gaps',
    'as-built?from=1%2B200&to=1%2B210',
  ];
  const texts: string[] = [];
  for (const path of paths) texts.push((await app.http.get(`${N}/${path}`).expect(200)).text);
  return texts;
};

/** The same answers, each computed from the record, and from where each would have been read. */
const judged = async (): Promise<{ texts: string[]; from: unknown[] }> => {
  const asked = jest
    .spyOn(app.app.get(JudgementKeeper), 'over')
    .mockImplementation((_, __, read) => read(''));
  const texts = await answers();
  const from = asked.mock.calls.map(([, judgedOver]) => judgedOver);
  asked.mockRestore();
  return { texts, from };
};

it('every figure based on it is the same from the cache and from the record', async () => {
  await until(stands);
  const over = await answers();
  const { texts, from } = await judged();
  expect(texts).toEqual(over);
  expect(from).toEqual(over.map(() => 'report_kept.'));
});

it('after a change at the face the cache is read up to there, and only the rest is assessed', async () => {
  await oneMore();
  await until(stands);
  const busy = new pg.Client({ connectionString: app.url });
  await busy.connect();
  try {
    await busy.query(`begin; select pg_advisory_xact_lock(hashtext('drivebook.judgement'), 0)`); // nothing is cached meanwhile
    await oneMore();
    const over = await answers();
    const { texts, from } = await judged();
    expect(over).toEqual(texts);
    expect(from).toEqual(over.map(() => 'report_since.'));
    expect(Number(await incomplete())).toBe(2 * nights);
    // with nothing left in the cache: the new stroke, and the one before it, where the assessment starts
    expect(nights).toBeGreaterThan(2);
    await app.sql('delete from kept.lacking');
    expect(Number(await incomplete())).toBe(4);
  } finally {
    await app.sql('delete from kept.judgement');
    await busy.end();
  }
  expect(Number(await incomplete())).toBe(2 * nights);
  await until(stands);
});

it('the cache is then updated from there only', async () => {
  await until(stands);
  // a mark in a row that is not computed again
  const mark = `update kept.lacking set rests_on = 'marked by the test' where cell = 4`;
  const marked = `select count(*)::int as n from kept.lacking where rests_on = 'marked by the test'`;
  await app.sql(mark);
  await oneMore();
  await until(stands);
  expect(await app.sql(marked)).toEqual([{ n: 1 }]);
  expect(Number(await incomplete())).toBe(2 * nights);
  // a demand applies along the whole drive
  await app.sql(`update standard_support_item set tolerance_percent = 1`);
  await incomplete();
  await until(stands);
  expect(await app.sql(marked)).toEqual([{ n: 0 }]);
});

it('two instances keep one assessment, and each reads what the other stored', async () => {
  other = await createApp({
    ...loadConfig({ JUDGEMENT_KEPT_FROM_MS: '0', RATE_LIMIT_PER_MINUTE: '0' }),
    databaseUrl: app.url,
    logLevel: 'silent',
  });
  await other.init();
  await other.getHttpAdapter().getInstance().ready();
  const second = { http: supertest.agent(other.getHttpServer()) };
  await until(stands);
  expect(Number(await incomplete(second))).toBe(2 * nights);
  await tamper();
  expect(Number(await incomplete(second))).toBe(0);
  await oneMore();
  for (let reading = 0; reading < 4; reading += 1)
    expect(
      await Promise.all([incomplete(), incomplete(second)].map(async (text) => Number(await text))),
    ).toEqual([2 * nights, 2 * nights]);
  await until(stands);
  expect(await app.sql('select count(*)::int as n from kept.judgement')).toEqual([{ n: 1 }]);
  expect(Number(await incomplete(second))).toBe(2 * nights);
});

it('a drive that is being assessed, or cannot be, delays no reading', async () => {
  const busy = new pg.Client({ connectionString: app.url });
  await busy.connect();
  try {
    await busy.query(`begin; select pg_advisory_xact_lock(hashtext('drivebook.judgement'), 0)`);
    await oneMore();
    expect(Number(await incomplete())).toBe(2 * nights);
    expect(await stands()).toBe(false);
    await busy.query('rollback');
    await until(stands); // it is retried
  } finally {
    await busy.end();
  }
});

it('can be deleted at any time, and is computed again', async () => {
  await until(stands);
  await app.sql('delete from kept.judgement');
  expect(Number(await incomplete())).toBe(2 * nights);
  await until(stands);
  expect(Number(await incomplete())).toBe(2 * nights);
});

it('an assessment that fails is tried again without a request', async () => {
  await until(stands);
  const failing = jest
    .spyOn(app.app.get(Database), 'keeping')
    .mockRejectedValueOnce(new Error('terminating connection due to administrator command'));
  await app.sql('delete from kept.judgement');
  expect(Number(await incomplete())).toBe(2 * nights);
  await until(() => failing.mock.calls.length > 0);
  await until(stands);
});
