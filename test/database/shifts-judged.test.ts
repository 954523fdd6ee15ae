import fc from 'fast-check';
import pg from 'pg';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { runs } from '../harness/sizes.js';
import { untilOneWaits } from '../harness/until.js';

// A shift is judged once for all that a transaction wrote to it. Whatever is written, in whatever order, with savepoints rolled back and
// rules asked for early: what may stand is what the rule itself, read from all rows, lets stand.

let database: TestDatabase;
let client: pg.Client;
let other: pg.Client;
let watching: pg.Client;

/** Four shifts of four hours; the clock changes in the second. Of each, the first and third hours are boring. */
const SHIFTS = [1, 2, 3, 4];
const hour = (n: number): string => `timestamptz '2027-03-27 19:00Z' + interval '${n} h'`;
const ACTIVITIES = Array.from({ length: 16 }, (_, at) => at + 1);
const BORINGS = Array.from({ length: 8 }, (_, at) => at + 1);

const shiftRow = (id: number): string =>
  `(${id}, 1, '2027-03-27'::date + ${id}, 1, ${hour(4 * id - 4)}, ${hour(4 * id)}, '${id < 4 ? 'submitted' : 'draft'}'::shift_state, 'a')`;
const activityRow = (id: number): string =>
  `(${id}, 1, ${Math.ceil(id / 4)}, ${hour(id - 1)}, ${hour(id)}, ${id % 2 === 1 ? 1 : 2})`;
const boringRow = (id: number): string =>
  `(${id}, 1, ${Math.ceil(id / 2)}, ${id}, ${id - 1}, ${id}, ${hour(2 * id - 2)}, ${hour(2 * id - 1)})`;

const insertActivities = (ids: number[]): string =>
  `insert into activity (id, drive_id, shift_id, started_at, ended_at, activity_code_id)
    values ${ids.map(activityRow).join()} on conflict do nothing`;
const insertBorings = (ids: number[]): string =>
  `insert into boring (id, drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at)
    values ${ids.map(boringRow).join()} on conflict do nothing`;

/** One statement each, after which all is as it was in the beginning. */
const REPAIR = [
  `update shift set id = id - 100 where id > 100`,
  `delete from activity`,
  `delete from boring`,
  `update shift s set starts_at = r.starts_at, ends_at = r.ends_at, state = r.state
    from (values ${SHIFTS.map(shiftRow).join()}) r (id, d, day, c, starts_at, ends_at, state, g) where s.id = r.id`,
  insertActivities(ACTIVITIES),
  insertBorings(BORINGS),
];

/** The first statement of a PUT, of all shifts. */
const EMPTY = `with b as (delete from boring), a as (delete from activity) update shift set digest = 'b'`;

const RECORD = `
  insert into project (id, code, name, time_zone, day_start, currency) values (1, 'P', 'Trial', 'Europe/Berlin', '06:00', 'EUR');
  insert into calendar_shift (id, project_id, name, start_time, end_time, weekdays) values (1, 1, 'day', '06:00', '18:00', '{1,2,3}');
  insert into activity_code (id, project_id, code, description, counts_as) values (1, 1, 'BORE', 'Boring', 'boring'), (2, 1, 'STOP', 'Stop', 'waiting');
  insert into drive (id, project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (1, 1, 'N', 'North', 0, 100, 1, 7);
  insert into shift (id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest) values ${SHIFTS.map(shiftRow).join()};
  ${insertActivities(ACTIVITIES)}; ${insertBorings(BORINGS)};
`;

/** The rule, of all rows: sums in seconds, metres counted from the portal. */
const WRONG = `select s.id from shift s,
    lateral (select coalesce(sum(extract(epoch from ended_at) - extract(epoch from started_at)), 0) as booked,
      coalesce(sum(extract(epoch from ended_at) - extract(epoch from started_at)) filter (where activity_code_id = 1), 0) as boring,
      count(*) filter (where started_at < s.starts_at or ended_at > s.ends_at) as outside from activity where shift_id = s.id) a,
    lateral (select coalesce(sum(extract(epoch from ended_at) - extract(epoch from started_at)), 0) as bored,
      count(*) filter (where started_at < s.starts_at or ended_at > s.ends_at) as outside,
      count(*) filter (where from_m <> (select coalesce(sum(o.to_m - o.from_m), 0) from boring o where o.to_m <= boring.from_m)) as behind
      from boring where shift_id = s.id) b
  where a.outside + b.outside > 0 or s.state <> 'draft' and (b.behind > 0 or a.boring <> b.bored
    or a.booked <> extract(epoch from s.ends_at) - extract(epoch from s.starts_at))`;

const isRight = async (): Promise<boolean> => (await client.query(WRONG)).rowCount === 0;

const codeOf = async (sql: string, by = client): Promise<string> => {
  try {
    await by.query(sql);
    return 'taken';
  } catch (error) {
    if (!(error instanceof pg.DatabaseError)) throw error;
    return error.code ?? '';
  }
};

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c timezone=Europe/Berlin' });
  other = new pg.Client({ connectionString: database.url });
  watching = new pg.Client({ connectionString: database.url });
  await Promise.all([client, other, watching].map((each) => each.connect()));
  await client.query(RECORD);
});

afterAll(async () => {
  await Promise.all([client, other, watching].map((each) => each.end()));
  await database.drop();
});

interface Picked {
  a: number;
  b: number;
  s: number;
}

const WRITES: ((picked: Picked) => string)[] = [
  ({ a }) => `delete from activity where id = ${a}`,
  ({ a }) => insertActivities([a]),
  () => insertActivities(ACTIVITIES),
  ({ a, s }) => `update activity set activity_code_id = ${1 + (s % 2)} where id = ${a}`,
  () => EMPTY,
  ({ s }) => `update activity set activity_code_id = 3 - activity_code_id where shift_id = ${s}`,
  ({ a, s }) => `update activity set shift_id = ${s} where id = ${a}`,
  ({ a }) => `update activity set shift_id = ${Math.ceil(a / 4)} where id = ${a}`,
  ({ a, b }) =>
    `update activity set shift_id = 4, started_at = ${hour(14 + b)}, ended_at = ${hour(15 + b)} where id = ${a};
      update shift set ends_at = ${hour(24)} where id = 4`,
  ({ a }) => `update activity set ended_at = ended_at - interval '10 min' where id = ${a}`,
  ({ a }) => `update activity set ended_at = ${hour(a)} where id = ${a}`,
  ({ a }) => `update activity set remark = 'seen' where id = ${a}`,
  ({ a, s }) =>
    `with gone as (delete from activity where id = ${a} returning *)
      insert into activity (drive_id, shift_id, started_at, ended_at, activity_code_id)
      select drive_id, ${s}, started_at, ended_at, activity_code_id from gone`,
  ({ a }) =>
    `merge into activity t using (values ${activityRow(a)}) r (id, d, shift_id, started_at, ended_at, code) on t.id = r.id
      when matched and t.remark is null then delete
      when not matched then insert (id, drive_id, shift_id, started_at, ended_at, activity_code_id)
        values (r.id, r.d, r.shift_id, r.started_at, r.ended_at, r.code)`,
  ({ b }) => `delete from boring where id = ${b}`,
  ({ b }) => insertBorings([b]),
  () => insertBorings(BORINGS),
  ({ b, s }) => `update boring set shift_id = ${s} where id = ${b}`,
  ({ b }) => `update boring set shift_id = ${Math.ceil(b / 2)} where id = ${b}`,
  ({ b }) => `update boring set shift_id = null where id = ${b}`,
  ({ b }) => `update boring set ended_at = ended_at - interval '10 min' where id = ${b}`,
  ({ b }) => `update boring set ended_at = ${hour(2 * b - 1)} where id = ${b}`,
  ({ b }) => `update boring set thrust_kn = 1000 where id = ${b}`,
  ({ s }) => `update shift set state = 'draft' where id = ${s}`,
  ({ s }) => `update shift set state = 'submitted' where id = ${s}`,
  ({ s }) => `update shift set ends_at = ends_at - interval '1 h' where id = ${s}`,
  ({ s }) => `update shift set ends_at = ${hour(4 * s)} where id = ${s}`,
  ({ s }) => `update shift set id = id + 100 where id = ${s}`,
  () => `update shift set id = id - 100 where id > 100`,
  ({ s }) =>
    `with b as (delete from boring where shift_id = ${s}), a as (delete from activity where shift_id = ${s})
      update shift set digest = 'b', state = 'draft' where id = ${s}`,
  ...REPAIR.map((sql) => () => sql),
];

const STEPS = ['write', 'immediate', 'deferred', 'savepoint', 'rollback', 'release', 'repair'] as const;

const step = fc.record({
  kind: fc.oneof(
    { weight: 8, arbitrary: fc.constant<(typeof STEPS)[number]>('write') },
    { weight: 4, arbitrary: fc.constantFrom(...STEPS) },
  ),
  write: fc.constantFrom(...WRITES),
  a: fc.constantFrom(...ACTIVITIES),
  b: fc.constantFrom(...BORINGS),
  s: fc.constantFrom(...SHIFTS),
});

/** A transaction: its savepoints, each with the mode in which it was made. */
class Transaction {
  private immediate = false;
  private readonly savepoints: boolean[] = [];

  /** Rules that are held at once refuse exactly what the rule forbids. */
  async write(sql: string): Promise<void> {
    await client.query('savepoint attempt');
    const code = await codeOf(sql);
    if (code === 'taken') {
      if (this.immediate) expect(await isRight()).toBe(true);
    } else {
      await client.query('rollback to attempt');
      if (code !== 'DB001') return;
      expect(this.immediate).toBe(true);
      await client.query('set constraints all deferred');
      await client.query(sql);
      expect(await isRight()).toBe(false);
      await client.query('rollback to attempt');
    }
    await client.query('release attempt');
  }

  async hold(): Promise<void> {
    await client.query('savepoint attempt');
    const right = await isRight();
    expect(await codeOf('set constraints all immediate')).toBe(right ? 'taken' : 'DB001');
    if (right) this.immediate = true;
    else await client.query('rollback to attempt');
  }

  async take({
    kind,
    write,
    ...picked
  }: { kind: (typeof STEPS)[number]; write: (typeof WRITES)[number] } & Picked) {
    const { savepoints } = this;
    const at = picked.a % (savepoints.length || 1);
    switch (kind) {
      case 'write':
        return this.write(write(picked));
      case 'repair':
        for (const sql of REPAIR) await this.write(sql);
        return;
      case 'immediate':
        return this.hold();
      case 'deferred':
        this.immediate = false;
        await client.query('set constraints all deferred');
        return;
      case 'savepoint':
        await client.query(`savepoint s${savepoints.length}`);
        savepoints.push(this.immediate);
        return;
      case 'rollback':
        if (savepoints.length === 0) return;
        await client.query(`rollback to s${at}`);
        this.immediate = savepoints[at] ?? false;
        savepoints.length = at + 1;
        return;
      case 'release':
        if (savepoints.length === 0) return;
        await client.query(`release s${at}`);
        savepoints.length = at;
    }
  }
}

it('refuses each write that leaves a shift wrong', async () => {
  const ends = { taken: 0, DB001: 0 };
  for (const write of WRITES)
    for (const a of ACTIVITIES) {
      await client.query('begin');
      const code = await codeOf(write({ a, b: Math.ceil(a / 2), s: 1 + (a % 4) }));
      if (code === 'taken') {
        const expected = (await isRight()) ? 'taken' : 'DB001';
        expect(await codeOf('set constraints all immediate')).toBe(expected);
        ends[expected] += 1;
      }
      await client.query('rollback');
    }
  expect(Math.min(ends.taken, ends.DB001)).toBeGreaterThan(100);
});

it('lets stand what the rule lets stand, whatever the order', async () => {
  const ends = { taken: 0, DB001: 0 };
  await fc.assert(
    fc.asyncProperty(fc.array(step, { minLength: 1, maxLength: 20 }), async (steps) => {
      await client.query('begin');
      try {
        const transaction = new Transaction();
        for (const taken of steps) await transaction.take(taken);
        const expected = (await isRight()) ? 'taken' : 'DB001';
        expect(await codeOf('commit')).toBe(expected);
        ends[expected] += 1;
        expect(await isRight()).toBe(true);
        expect((await client.query('select from _drivebook.shift_mark')).rowCount).toBe(0);
      } finally {
        await client.query('rollback');
        await client.query(`begin; ${REPAIR.join(';')}; commit`);
      }
    }),
    { ...runs(60, 400), endOnFailure: true },
  );
  expect(Math.min(ends.taken, ends.DB001)).toBeGreaterThan(5);
});

/** Since the session last reported its counts. */
const judgements = async (): Promise<number> =>
  (
    await client.query<{ calls: number }>(
      `select coalesce(sum(calls), 0)::int as calls from pg_stat_xact_user_functions where funcname = 'hold_shift_minutes'`,
    )
  ).rows[0]?.calls ?? 0;

const counted = async (...statements: string[]): Promise<number> => {
  await client.query(`begin; set local track_functions = 'all'`);
  try {
    const before = await judgements();
    for (const sql of statements) await client.query(sql);
    return (await judgements()) - before;
  } finally {
    await client.query('rollback');
  }
};

it.each([
  ['all of them are replaced, as by a PUT', [EMPTY, REPAIR[4], REPAIR[5]], 4],
  [
    'many statements write to it',
    ACTIVITIES.slice(0, 4).map((a) => `update activity set remark = 'x' where id = ${a}`),
    1,
  ],
  ['what is only computed of its borings is written', ['update boring set power_kw = 1'], 0],
  [
    'it is written to after it was judged',
    [REPAIR[1], REPAIR[4], 'set constraints all immediate', REPAIR[4], REPAIR[3]],
    8,
  ],
])('judges a shift once when %s', async (_, statements, expected) => {
  expect(await counted(...statements, 'set constraints all immediate')).toBe(expected);
});

it('judges what another transaction wrote before: the second to write is refused', async () => {
  await client.query(`begin; ${REPAIR.join(';')}; update shift set state = 'draft' where id = 3; commit`);
  await client.query(
    `begin; update shift set state = 'submitted' where id = 3; set constraints all immediate`,
  );
  const second = codeOf('begin; delete from activity where id = 12; commit', other);
  await untilOneWaits({ sql: async (text) => (await watching.query(text)).rows });
  await client.query('commit');
  expect(await second).toBe('DB001');
  await other.query('rollback');
  expect(await isRight()).toBe(true);
});

it.each([
  ['delete from _drivebook.shift_mark'],
  ['delete from _drivebook.shift_mark where shift_id = 1'],
  ['update _drivebook.shift_mark set shift_id = 4'],
  ['with m as (delete from _drivebook.shift_mark) update shift set digest = digest'],
  ['truncate _drivebook.shift_mark'],
])('keeps its marks from all but its judgement: %s', async (sql) => {
  expect(await codeOf(sql)).toBe('DB002');
  const code = await codeOf(`begin; delete from activity where id = 1; ${sql}; commit`);
  await client.query('rollback');
  expect(code).toMatch(/DB002|55006/); // a table with triggers that are pending is not truncated anyway
  expect(await isRight()).toBe(true);
});
