import { aDrive, aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { oneIn } from '../harness/sizes.js';

/**
 * What PostgreSQL reports when a table cannot grow: disk_full (53100) and io_error (58030), PostgreSQL 18 appendix A. Here a
 * trigger raises it; full-disk.faults.ts fills a file system.
 */
const STATES = ['53100', '58030'];

/** Tables written by the shift below, with their history. */
const TABLES = ['shift', 'boring', 'activity', 'support_installed', 'ground_interval'].flatMap((table) => [
  `public.${table}`,
  `history.${table}`,
]);

/** When the row is written, or with the constraints checked before the commit. */
const MOMENTS = ['before insert', 'after insert, deferred'] as const;

const failures = STATES.flatMap((state, n) =>
  [...TABLES, 'history.change'].map((table, place) => ({
    state,
    table,
    moment: MOMENTS[(n + place) % MOMENTS.length],
  })),
);

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

it.each(oneIn(11, failures))(
  '$table cannot grow ($state, $moment): 503, nothing is written; then it is accepted',
  async (failure) => {
    const { state, table, moment } = failure;
    const drive = `D${failures.indexOf(failure)}`;
    await aDrive(app, { drive });
    const url = `/v1/projects/P1/drives/${drive}/shifts/2027-03-01/day`;
    const shift = aShift('2027-03-01')
      .withStroke(1, '1+200', '1+201', '06:00', '06:40')
      .withActivity('BORE', '06:00', '06:40')
      .withSupport('BOLT', '1+200', '1+201', '4')
      .withGround('A', '1+200', '1+201')
      .build();
    await app.sql(
      `create function disk_full() returns trigger language plpgsql as
     $$ begin raise exception using errcode = '${state}', message = 'could not extend file'; end $$`,
    );
    await app.sql(
      moment === 'before insert'
        ? `create trigger disk_full before insert on ${table} for each row execute function disk_full()`
        : `create constraint trigger disk_full after insert on ${table} deferrable initially deferred for each row execute function disk_full()`,
    );
    const before = await app.contents();
    const refused = await app.http.put(url).send(shift);
    expect([refused.status, refused.body.type, Number(refused.headers['retry-after']) > 0]).toEqual([
      503,
      '/docs/problems#unavailable',
      true,
    ]);
    expect(await app.contents()).toBe(before);
    await app.sql('drop function disk_full cascade');
    expect((await app.http.put(url).send(shift)).status).toBe(201);
  },
);
