import pg from 'pg';
import { wholeRecord } from '../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { refusalToOwner, serviceSession } from '../harness/service-role.js';
import { untilOneWaits } from '../harness/until.js';

// No row of a countersigned shift is written, whichever statement does it and however many other rows it writes.

let database: TestDatabase;
let client: pg.Client;
let service: pg.Client;
let watching: pg.Client;

/** Of the record: 100 is submitted and has rows of each kind, 101 is a draft without rows. */
const SIGNED = `select set_config('drivebook.actor', 'another', true); update shift set state = 'countersigned' where id = 100;`;

/** The columns of each table that are not computed. */
const columns = new Map<string, string[]>();

/** A copy of the row of shift 100, two days later and further along. */
const copied = (table: string, id: number, shift: number, at: number): string => {
  const names = columns.get(table) ?? [];
  return `insert into ${table} (${names.join()}) select ${names.map((name) => `r.${name}`).join()} from ${table} t,
    jsonb_populate_record(t, jsonb_build_object('id', ${id}, 'shift_id', ${shift}, 'line', ${id}, 'from_m', ${at}, 'to_m', ${at + 1},
      'stroke_number', ${id}, 'started_at', timestamptz '2027-03-03 06:00Z' + interval '${at} min',
      'ended_at', timestamptz '2027-03-03 06:01Z' + interval '${at} min')) r where t.id = 100`;
};

const TABLES = ['activity', 'boring', 'ground_interval', 'support_installed', 'shift_confirmation'];

const WRITES: [string, (table: string) => string][] = [
  ['inserted', (table) => copied(table, 901, 100, 50)],
  ['updated', (table) => `update ${table} set shift_id = shift_id where shift_id = 100`],
  ['removed', (table) => `delete from ${table} where shift_id = 100`],
  ['moved out', (table) => `update ${table} set shift_id = 101 where shift_id = 100`],
  ['moved in', (table) => `update ${table} set shift_id = 100 where shift_id = 101`],
  ['updated with those of a draft', (table) => `update ${table} set shift_id = shift_id`],
  ['removed with those of a draft', (table) => `delete from ${table}`],
];

beforeAll(async () => {
  database = await freshDatabase();
  client = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await client.connect();
  service = await serviceSession(database.url);
  await service.query(
    `select set_config('drivebook.project', '1', false), set_config('drivebook.actor', 'third', false)`,
  );
  watching = new pg.Client({ connectionString: database.url });
  await watching.connect();
  await client.query(wholeRecord(1, 'ALPHA'));
  const { rows } = await client.query<{ table: string; names: string[] }>(
    `select table_name as table, array_agg(column_name::text) as names from information_schema.columns
      where table_schema = 'public' and table_name = any($1) and is_generated = 'NEVER' group by 1`,
    [TABLES],
  );
  for (const { table, names } of rows) columns.set(table, names);
  for (const table of TABLES) await client.query(copied(table, 900, 101, 40));
});

afterAll(async () => {
  await Promise.all([client, service, watching].map((each) => each.end()));
  await database.drop();
});

describe.each(TABLES)('%s', (table) => {
  it.each(WRITES)('of a countersigned shift is not %s', async (_, write) => {
    expect(await refusalToOwner(client, `${SIGNED} ${write(table)}`)).toBe(
      'shift_countersigned: shift 2027-03-01 day is countersigned: reopen it before you change it',
    );
  });

  it('of a draft is inserted, updated and removed beside it', async () => {
    const writes = [
      copied(table, 902, 101, 41),
      `update ${table} set shift_id = shift_id where shift_id = 101`,
      `delete from ${table} where id in (900, 902)`,
    ];
    expect(await refusalToOwner(client, `${SIGNED} ${writes.join('; ')}`)).toBe('taken');
  });

  describe('and one who countersigns', () => {
    const oneWaits = () => untilOneWaits({ sql: async (text) => (await watching.query(text)).rows });
    const attempt = (by: pg.Client, sql: string): Promise<string> =>
      by.query(sql).then(
        () => 'taken',
        (error: Error) => error.message,
      );
    const standing = async (): Promise<unknown[]> =>
      (
        await client.query(
          `select t.*, s.state from ${table} t join shift s on s.id = t.shift_id order by t.id`,
        )
      ).rows;

    afterEach(async () => {
      for (const each of [client, service]) await each.query('rollback');
      await client.query(`begin; select set_config('drivebook.actor', 'another', true), set_config('drivebook.reason', 'the next case', true);
        update shift set state = 'draft' where id = 100; commit; update shift set state = 'submitted' where id = 100`);
    });

    it.each(WRITES)('before rows are %s: the second waits and is refused', async (_, write) => {
      await client.query(`begin; ${SIGNED}`);
      const signed = await standing();
      const second = attempt(service, `begin; ${write(table)}; commit`);
      await oneWaits();
      await client.query('commit');
      expect(await second).toBe('shift 2027-03-01 day is countersigned: reopen it before you change it');
      await service.query('rollback');
      expect(await standing()).toEqual(signed);
    });

    it('after rows are written waits for them', async () => {
      await service.query(`begin; update ${table} set shift_id = shift_id where shift_id = 100`);
      const second = attempt(client, `begin; ${SIGNED} commit`);
      await oneWaits();
      await service.query('commit');
      expect(await second).toBe('taken');
      expect(await attempt(service, `delete from ${table} where shift_id = 100`)).toContain('countersigned');
    });
  });
});
