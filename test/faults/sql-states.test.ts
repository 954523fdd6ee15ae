import { Database } from '../../src/common/database/database.js';
import { inScope } from '../../src/common/database/scope.js';
import { toProblemError } from '../../src/common/api/to-problem.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

const SCOPE = { projectId: 1, project: 'P1', actor: 'test', credential: 'test' };

/** Conditions of PostgreSQL 18, appendix A, that mean "not this server" or "not now". */
const UNAVAILABLE =
  `08000 08001 08003 08004 08006 08007 08P01 25006 25P03 25P04 28000 28P01 3D000 40000 40001 40003 40P01
  53000 53100 53200 53300 53400 55006 55P03 57000 57014 57P01 57P02 57P03 57P04 57P05 58000 58030 72000`.split(
    /\s+/,
  );

/** Conditions that would recur at the next attempt: a defect of ours, or a rule of the record. */
const OTHERWISE: [string, number][] = [
  ['22012', 500],
  ['23001', 409],
  ['23502', 409],
  ['23503', 409],
  ['23505', 409],
  ['23514', 409],
  ['23P01', 409],
  ['25P02', 500],
  ['42501', 500],
  ['42P01', 500],
  ['55000', 500],
  ['0A000', 500],
  ['XX000', 500],
  ['DB001', 409],
  ['DB005', 409],
  ['DB006', 409],
];

let empty: TestDatabase;
let database: Database;

beforeAll(async () => {
  empty = await freshDatabase();
  database = new Database(empty.url, 2);
});

afterAll(async () => {
  await database.close();
  await empty.drop();
});

const raising = (state: string): string =>
  `do $$ begin raise exception using errcode = '${state}', message = 'as if'; end $$`;

const ways: [string, (sql: string) => Promise<unknown>][] = [
  ['a transaction', (sql) => database.atomic((transaction) => transaction.$executeRawUnsafe(sql))],
  ['a transaction in bulk', (sql) => database.bulk((send) => send(sql))],
  ['a reading', (sql) => database.reading((statements) => statements.$queryRawUnsafe(sql))],
  ['a question', (sql) => database.ask(sql)],
];

const statusOf = (work: () => Promise<unknown>): Promise<number> =>
  inScope(SCOPE, work).then(
    () => 200,
    (error: unknown) => toProblemError(error).status,
  );

describe.each(ways)('a failure of the database in %s', (_, run) => {
  it('that says "not this server" or "not now" is answered 503', async () => {
    for (const state of UNAVAILABLE)
      expect([state, await statusOf(() => run(raising(state)))]).toEqual([state, 503]);
  });

  it('that would happen again at the next try is not', async () => {
    for (const [state, status] of OTHERWISE)
      expect([state, await statusOf(() => run(raising(state)))]).toEqual([state, status]);
  });

  it('that the operating system reports is answered 503', async () => {
    const nowhere = new Database('postgresql://x@127.0.0.1:1/x', 1);
    const unnamed = new Database('postgresql://x@nowhere.invalid:1/x', 1);
    for (const away of [nowhere, unnamed]) {
      expect(await statusOf(() => away.atomic(() => Promise.resolve()))).toBe(503);
      expect(await statusOf(() => away.ask('select 1'))).toBe(503);
      await away.close();
    }
  });
});
