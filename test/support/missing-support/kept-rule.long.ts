import fc from 'fast-check';
import pg from 'pg';
import { shippedFolders } from '../../../src/common/database/migrate.js';
import { createViews, readViews } from '../../../src/common/database/views.js';
import { wholeRecord } from '../../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { refusalOf, rowsOf, serviceSession } from '../../harness/service-role.js';
import { BESIDE, IN_PART, JUDGED, type Write } from './kept-writes.js';

// The cached assessment and the one rule by which it expires, with the role of the service.

let database: TestDatabase;
let owner: pg.Client;
let service: pg.Client;

/** The drive N of project ALPHA, which has another drive, 3, and a neighbour, BETA. */
const DRIVE = 1;

beforeAll(async () => {
  database = await freshDatabase();
  owner = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  await owner.connect();
  await owner.query(`${wholeRecord(1, 'ALPHA')} ${wholeRecord(2, 'BETA')}
    insert into ground_class (id, project_id, code, description) values (199, 1, 'B', 'Fair');
    insert into drive (id, project_id, code, name, machine_id, start_chainage_m, end_chainage_m, direction, bored_diameter_m) values (3, 1, 'S', 'South', 100, 1000, 2000, 1, 7);
    insert into shift (id, project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
      values (190, 1, 3, '2027-03-08', 100, '2027-03-08 06:00Z', '2027-03-08 18:00Z', 'draft', 'x')`);
  service = await serviceSession(database.url);
  await service.query(`select set_config('drivebook.project', '1', false)`);
});

afterAll(async () => {
  await service.end();
  await owner.end();
  await database.drop();
});

const keep = async (drive = DRIVE): Promise<number | null> =>
  (
    await rowsOf<{ took: number | null }>(service, 'select report_kept.keep_judgement($1) as took', [drive])
  )[0]?.took ?? null;

const stands = async (drive = DRIVE, client = service): Promise<boolean> =>
  (await rowsOf<{ is: boolean }>(client, 'select report_kept.judgement_stands($1) as is', [drive]))[0]?.is ??
  false;

const ANSWERS = [
  `unsupported_length('ALPHA', 'N')`,
  `before_next_stroke('ALPHA', 'N', 1.7)`,
  `missing_support_between('ALPHA', 'N', 1000, 1060, 7)`,
  `missing_support_between('ALPHA', 'N', 1007, 1021, null)`,
  `missing_support_between('ALPHA', 'N', 1000, 2000, 10)`, // the cells that are kept
  `support_gap('ALPHA', 'N')`,
];

/** Everything that depends on the assessment, as one text. */
const answers = async (schema: 'report' | 'report_kept' | 'report_since'): Promise<string[]> => {
  const found: string[] = [];
  for (const answer of ANSWERS) {
    const text = `select coalesce(json_agg(t order by t::text), '[]')::text as rows from (select * from ${schema}.${answer}) t`;
    const { rows } = await service.query<{ rows: string }>({
      name: `${schema} ${answer}`.slice(0, 60),
      text,
    });
    found.push(rows[0]?.rows ?? '');
  }
  return found;
};

/** Writes in one transaction; refused writes are rolled back individually. @returns whether any succeeded */
const wrote = async (writes: Write[], end: 'commit' | 'rollback' = 'commit'): Promise<boolean> => {
  let taken = 0;
  await owner.query('begin');
  await owner.query(`select set_config('drivebook.project', '1', true)`);
  for (const { sql } of writes) {
    await owner.query('savepoint one; set constraints all deferred');
    try {
      await owner.query(sql);
      await owner.query('set constraints all immediate');
      taken += 1;
    } catch {
      await owner.query('rollback to savepoint one');
    }
  }
  await owner.query(end);
  return taken > 0;
};

describe('the tables on which the assessment depends', () => {
  /** What the assessing functions reach: functions and tables, also through views. */
  const REACHED = `with recursive reached(class, id) as (
      select 'pg_proc'::regclass::oid, oid from pg_proc where pronamespace = 'report'::regnamespace
        and proname in ('support_lacking_of', 'support_gap_of', 'support_stroke', 'support_cell_of', 'unsupported_of', 'interval_bounds')
      union
      select d.refclassid, d.refobjid from reached r
      join pg_depend d on (d.classid = r.class and d.objid = r.id)
        or (r.class = 'pg_class'::regclass and d.classid = 'pg_rewrite'::regclass and d.objid in (select oid from pg_rewrite where ev_class = r.id))
      where d.refclassid in ('pg_proc'::regclass, 'pg_class'::regclass)
    )`;

  it('are those that the functions read and that have a history', async () => {
    const read = await rowsOf(
      owner,
      `${REACHED} select distinct relname::text as name, history.drive_of(relname::text) is not null as of_drive from reached join pg_class c on class = 'pg_class'::regclass and c.oid = id
        where relkind in ('r', 'p') order by 1`,
    );
    const named = await rowsOf(owner, 'select name, of_drive from report_kept.judged_table() order by 1');
    expect(read.length).toBeGreaterThan(10);
    expect(named).toEqual(read);
    const kept = await rowsOf<{ name: string }>(owner, 'select history.kept_tables() as name');
    expect(named.filter(({ name }) => !kept.some((table) => table.name === name))).toEqual([]);
  });

  it('of a drive have no row without one', async () => {
    const without = await rowsOf(
      owner,
      `select t.name from report_kept.judged_table() t join pg_attribute a on a.attrelid = ('public.' || t.name)::regclass and a.attname = 'drive_id'
        where t.of_drive and not a.attnotnull`,
    );
    expect(without).toEqual([]);
  });

  it('are all that the functions depend on: they read no clock and no setting, and those with an unknown body read nothing', async () => {
    const functions = await rowsOf<{ name: string; text: string }>(
      owner,
      `${REACHED} select p.oid::regprocedure::text as name, pg_get_functiondef(p.oid) as text from reached join pg_proc p on class = 'pg_proc'::regclass and p.oid = id
        join pg_namespace n on n.oid = p.pronamespace where n.nspname in ('report', 'public', 'history')`,
    );
    expect(functions.length).toBeGreaterThan(10);
    const ASKING =
      /\b(now|clock_timestamp|statement_timestamp|transaction_timestamp|timeofday|current_setting|random|scope_project)\s*\(|current_(date|time|user)|localtime|session_user/i;
    expect(functions.filter(({ text }) => ASKING.test(text)).map(({ name }) => name)).toEqual([]);
    const texts = await rowsOf(
      owner,
      `${REACHED} select p.oid::regprocedure::text as name from reached join pg_proc p on class = 'pg_proc'::regclass and p.oid = id
        join pg_namespace n on n.oid = p.pronamespace where n.nspname in ('report', 'public', 'history') and prosqlbody is null and provolatile <> 'i'`,
    );
    expect(texts).toEqual([]);
  });

  it('no function over the cache computes the assessment again', async () => {
    const judging = await rowsOf(
      owner,
      `with recursive reached(class, id) as (
        select 'pg_proc'::regclass::oid, oid from pg_proc where pronamespace = 'report_kept'::regnamespace
        union
        select d.refclassid, d.refobjid from reached r
        join pg_depend d on (d.classid = r.class and d.objid = r.id)
          or (r.class = 'pg_class'::regclass and d.classid = 'pg_rewrite'::regclass and d.objid in (select oid from pg_rewrite where ev_class = r.id))
        where d.refclassid in ('pg_proc'::regclass, 'pg_class'::regclass)
      ) select p.proname from reached join pg_proc p on class = 'pg_proc'::regclass and p.oid = id
        where p.pronamespace = 'report'::regnamespace and p.proname in ('support_lacking_of', 'support_gap_of', 'support_stroke', 'unsupported_of')`,
    );
    expect(judging).toEqual([]);
  });
});

describe('the cached assessment ends', () => {
  it.each(JUDGED.map((arbitrary) => ({ name: fc.sample(arbitrary, 1)[0]?.name, arbitrary })))(
    'with each write that it depends on: $name',
    async ({ arbitrary }) => {
      // the first write that succeeds, for the current drive
      for (const write of fc.sample(arbitrary, { numRuns: 30, seed: 7 })) {
        if (
          /\b(drive_id = |select |values \(\d+, 1, |values \(1, )3\b/.test(write.sql) ||
          / id = 3$/.test(write.sql)
        )
          continue;
        await keep();
        const before = await history();
        if (!(await wrote([write])) || (await history()) === before) continue;
        expect([write.name, await stands()]).toEqual([write.name, false]);
        return;
      }
      throw new Error(`none was taken: ${fc.sample(arbitrary, 1)[0]?.name}`);
    },
  );

  it('with nothing else: neither unrelated rows nor those of another drive', async () => {
    await keep();
    for (const arbitrary of BESIDE) await wrote(fc.sample(arbitrary, { numRuns: 3, seed: 7 }));
    await wrote([
      {
        name: 'of S',
        sql: `insert into boring (drive_id, stroke_number, from_m, to_m) select 3, 900, 900, 901`,
      },
    ]);
    expect(await stands()).toBe(true);
    // later changes need not be examined again
    expect(await keep()).toBe(0);
    expect(await rowsOf(owner, 'select change::int from kept.judgement where drive_id = 1')).toEqual([
      { change: Number(await history()) },
    ]);
  });

  it('with a change of another drive that writes to the project as well', async () => {
    await keep();
    expect(
      await wrote([
        { name: 'of S', sql: `update boring set to_m = 901.5 where drive_id = 3 and stroke_number = 900` },
        { name: 'an item', sql: `update support_item set description = 'Bolt, long' where id = 100` },
      ]),
    ).toBe(true);
    expect(await stands()).toBe(false);
  });
});

const history = async (): Promise<string> =>
  (await rowsOf<{ n: string }>(owner, 'select max(number) as n from history.change where project_id = 1'))[0]
    ?.n ?? '';

describe('within a transaction', () => {
  const STROKE = `insert into boring (drive_id, stroke_number, from_m, to_m) values (1, 800, 800, 801)`;

  it('a change in progress ends it for its own transaction, and nobody caches anything of it', async () => {
    await keep();
    const other = await serviceSession(database.url);
    try {
      await other.query(`begin; select set_config('drivebook.project', '1', true)`);
      await other.query(STROKE);
      expect(await stands(DRIVE, other)).toBe(false);
      await expect(other.query('select report_kept.keep_judgement(1)')).rejects.toThrow(/has written to it/);
      expect(await stands()).toBe(true); // for all other sessions nothing has happened
      await other.query('rollback');
      expect(await stands()).toBe(true);
    } finally {
      await other.end();
    }
  });

  it('one is computed at a time', async () => {
    const other = await serviceSession(database.url);
    try {
      await other.query(`begin; select set_config('drivebook.project', '1', true)`);
      await other.query('select report_kept.keep_judgement(3)');
      expect(await keep()).toBeNull();
      await other.query('rollback');
      expect(await keep()).not.toBeNull();
    } finally {
      await other.end();
    }
  });
});

describe('the role of the service', () => {
  const refused = (sql: string): Promise<{ state: string }> => refusalOf(service, 1, sql);

  it('cannot write to it', async () => {
    for (const sql of [
      `insert into kept.judgement values (1, 1, 1, '', '{}', now(), 1, '{}')`,
      `update kept.judgement set change = change`,
      `insert into kept.lacking (drive_id, project_id) values (1, 1)`,
      `update kept.lacking set missing = 0`,
      `insert into kept.gap (drive_id, project_id) values (1, 1)`,
      `update kept.gap set unplaced = 0`,
      `insert into kept.cell (drive_id, project_id) values (1, 1)`,
      `update kept.cell set missing = 0`,
      `insert into kept.unsupported (drive_id, project_id) values (1, 1)`,
      `insert into kept.checkpoint (drive_id, project_id) values (1, 1)`,
      `update kept.checkpoint set carried = 0`,
      `update kept.unsupported set overdue_m = 0`,
      `truncate kept.judgement`,
      `create table kept.x (id int)`,
    ])
      expect([sql, (await refused(sql)).state]).toEqual([sql, '42501']);
  });

  it('sees and deletes nothing of another project, and computes none of it', async () => {
    await keep();
    await owner.query(`insert into kept.lacking (drive_id, project_id, kind) values (1, 1, 'mark')`);
    const other = await serviceSession(database.url);
    try {
      for (const scope of ['2', '']) {
        await other.query(`select set_config('drivebook.project', $1, false)`, [scope]);
        for (const table of ['judgement', 'lacking', 'gap', 'cell', 'unsupported', 'run', 'checkpoint'])
          expect(await rowsOf(other, `select * from kept.${table}`)).toEqual([]);
        expect((await other.query('delete from kept.judgement')).rowCount).toBe(0);
        expect(await stands(DRIVE, other)).toBe(false);
        expect(await rowsOf(other, 'select report_kept.keep_judgement(1) as took')).toEqual([{ took: -1 }]);
        expect(await rowsOf(other, `select * from report_kept.support_lacking_of(1)`)).toEqual([]);
      }
      expect(await stands()).toBe(true);
    } finally {
      await owner.query(`delete from kept.lacking where kind = 'mark'`);
      await other.end();
    }
  });

  it('computes it from the current record, whatever its session has set', async () => {
    const other = await serviceSession(database.url);
    try {
      await other.query(`select set_config('drivebook.project', '1', false)`);
      await other.query('delete from kept.judgement');
      await other.query(`set search_path = pg_temp; set timezone = 'Asia/Tokyo'; set extra_float_digits = -15;
        create temp table support_installed (like public.support_installed); create temp table boring (like public.boring)`);
      expect(
        Number((await rowsOf(other, 'select report_kept.keep_judgement(1) as took'))[0]?.['took']),
      ).toBeGreaterThan(0);
    } finally {
      await other.end();
    }
    expect(await answers('report_kept')).toEqual(await answers('report'));
  });
});

describe('the cached assessment does not outlive', () => {
  it.each([
    [
      'a history in which its change is another one',
      `update kept.judgement set hash = '\\x00' where drive_id = 1`,
    ],
    [
      'a history that ends before its change',
      `update kept.judgement set change = 1000000 where drive_id = 1`,
    ],
  ])('%s', async (_, sql) => {
    await keep();
    await owner.query(sql);
    expect(await stands()).toBe(false);
    expect(await keep()).toBeGreaterThan(0);
    expect(await stands()).toBe(true);
  });

  it('the definitions that it was computed with', async () => {
    await keep();
    await owner.query('begin');
    await createViews(owner, readViews(shippedFolders.views));
    await owner.query('commit; set search_path = public');
    expect(
      await rowsOf(
        owner,
        'select from kept.judgement union all select from kept.lacking union all select from kept.cell union all select from kept.unsupported',
      ),
    ).toEqual([]);
    expect(await stands()).toBe(false);
  });

  it('its drive', async () => {
    await keep(3);
    await owner.query(
      `delete from kept.judgement where drive_id = 1; update kept.judgement set drive_id = 777`,
    );
    await keep();
    expect(await rowsOf(owner, 'select drive_id from kept.judgement order by 1')).toEqual([{ drive_id: 1 }]);
  });
});

/** The first stroke to assess again; none: the cache is valid as a whole, or not at all. */
const since = async (): Promise<number | undefined> =>
  (await rowsOf<{ cell: number }>(service, 'select cell from report_since.judged_since($1)', [DRIVE]))[0]
    ?.cell;

describe('it is valid up to a place', () => {
  it('and with the rest computed equals the whole computed, after any writes', async () => {
    const PLACES = /^(a stroke|support|ground|a class decision)/;
    const name = (one: fc.Arbitrary<Write>): string => fc.sample(one, 1)[0]?.name ?? '';
    const write = fc.oneof(
      { weight: 8, arbitrary: fc.oneof(...IN_PART, ...JUDGED.filter((one) => PLACES.test(name(one)))) },
      fc.oneof(...JUDGED.filter((one) => !PLACES.test(name(one)) && !/spacing/.test(name(one)))),
    );
    await owner.query(`insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m, tolerance_percent)
      select 1, id, 100, 'nr', 'L1', 1.370000, 5 from standard_support where project_id = 1 and not exists (
        select from standard_support_item i where i.standard_support_id = standard_support.id and i.zone = 'L1')`);
    const found: number[] = [];
    await fc.assert(
      fc.asyncProperty(fc.array(write, { minLength: 12, maxLength: 12 }), async (writes) => {
        for (const [n, one] of writes.entries()) {
          if (n % 3 === 0) await keep();
          await wrote([one]);
          const cell = await since();
          if (cell === undefined) {
            await keep();
            continue;
          }
          found.push(cell);
          expect([one.name, await answers('report_since')]).toEqual([one.name, await answers('report')]);
        }
      }),
      { numRuns: 60 },
    );
    expect(found.length).toBeGreaterThan(100);
  });
});

// Last: the record is full after it.
it('the cached assessment equals a new one, whatever was written', async () => {
  const write = fc.oneof({ weight: 4, arbitrary: fc.oneof(...JUDGED) }, fc.oneof(...BESIDE));
  const transaction = fc.record({
    writes: fc.array(write, { minLength: 1, maxLength: 3 }),
    end: fc.constantFrom<'commit' | 'rollback'>('commit', 'commit', 'commit', 'rollback'),
  });
  await fc.assert(
    fc.asyncProperty(fc.array(transaction, { minLength: 6, maxLength: 6 }), async (transactions) => {
      for (const { writes, end } of transactions) {
        if (!(await stands())) await keep();
        expect(await stands()).toBe(true);
        await wrote(writes, end);
        if (end === 'rollback') expect(await stands()).toBe(true);
        if (await stands()) expect(await answers('report_kept')).toEqual(await answers('report'));
      }
      await keep();
      expect(await answers('report_kept')).toEqual(await answers('report'));
    }),
    { numRuns: 60 },
  );
});
