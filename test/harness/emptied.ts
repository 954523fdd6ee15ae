import type pg from 'pg';

type Rows = Pick<pg.Pool, 'query'>;

const OURS = `relnamespace in (select oid from pg_namespace where nspname !~ '^pg_|^information_schema$')`;

const TABLES = `select oid::regclass::text as name, relispartition as partition from pg_class where relkind in ('r', 'p') and ${OURS}`;

const SEQUENCES = `select format('%I.%I', schemaname, sequencename) as name, start_value::text as start, last_value::text as last from pg_sequences`;

/** A row that was inserted or updated has a later transaction id than those before it; deleted rows are not counted. */
const CATALOGUES = [
  'pg_attribute',
  'pg_attrdef',
  'pg_constraint',
  'pg_index',
  'pg_namespace',
  'pg_policy',
  'pg_proc',
  'pg_rewrite',
  'pg_trigger',
  'pg_type',
];

/** A digest of everything except rows: tables, functions, triggers, policies, rights, settings. */
const SHAPE = `select md5(string_agg(part, ' ' order by part)) as digest from (${[
  ...CATALOGUES.map((name) => `select concat(count(*), ' ', max(xmin::text::bigint)) as part from ${name}`),
  // its rows change when tables are filled and emptied
  `select md5(string_agg(concat_ws(' ', oid, relname, relowner, relacl, relrowsecurity, relforcerowsecurity, reloptions), ',' order by oid)) from pg_class`,
  `select concat(datdba, datacl) from pg_database where datname = current_database()`,
  `select string_agg(concat(setrole, setconfig), ',' order by setrole) from pg_db_role_setting where setdatabase = (select oid from pg_database where datname = current_database())`,
].join(' union all ')}) parts`;

const shapeOf = async (database: Rows): Promise<string | undefined> =>
  (await database.query<{ digest: string }>(SHAPE)).rows[0]?.digest;

const namesOf = async (database: Rows, sql: string): Promise<string[]> =>
  (await database.query<{ name: string }>(sql)).rows.map(({ name }) => name);

const sequencesOf = async (database: Rows) =>
  (await database.query<{ name: string; start: string; last: string | null }>(SEQUENCES)).rows;

/** Tables that contain rows, with a digest of their content. */
const digestsOf = async (database: Rows, tables: string[]): Promise<Map<string, string>> => {
  if (tables.length === 0) return new Map();
  const { rows } = await database.query<{ name: string; digest: string }>(
    tables
      .map(
        (name) =>
          `select '${name}' as name, md5(string_agg(t::text, ',' order by t::text)) as digest from ${name} t`,
      )
      .join(' union all '),
  );
  return new Map(rows.map(({ name, digest }) => [name, digest]));
};

/** Restores a database used by a test file to the state of a new one. */
export class Emptied {
  private constructor(
    private readonly database: Rows,
    private readonly shape: string | undefined,
    private readonly tables: readonly string[],
    private readonly partitions: ReadonlySet<string>,
    private readonly kept: ReadonlyMap<string, string>,
    private readonly sequences: ReadonlyMap<string, string | null>,
  ) {}

  /** @param database  as the superuser: one not used by any file yet */
  static async of(database: Rows): Promise<Emptied> {
    const { rows } = await database.query<{ name: string; partition: boolean }>(TABLES);
    const tables = rows.filter(({ partition }) => !partition).map(({ name }) => name);
    return new Emptied(
      database,
      await shapeOf(database),
      tables,
      new Set(rows.filter(({ partition }) => partition).map(({ name }) => name)),
      await digestsOf(database, await filledOf(database, tables)),
      new Map((await sequencesOf(database)).map(({ name, last }) => [name, last])),
    );
  }

  /** @returns whether it was restored; if not, it must not be reused */
  async empty(): Promise<boolean> {
    const months = (await this.database.query<{ name: string; partition: boolean }>(TABLES)).rows.filter(
      ({ name, partition }) => partition && !this.partitions.has(name),
    );
    if (months.length > 0) await this.database.query(`drop table ${months.map(({ name }) => name).join()}`);
    if ((await shapeOf(this.database)) !== this.shape) return false;
    const kept = await digestsOf(this.database, [...this.kept.keys()]);
    if ([...this.kept].some(([name, digest]) => kept.get(name) !== digest)) return false;
    const filled = (await filledOf(this.database, this.tables)).filter((name) => !this.kept.has(name));
    await this.database.query(
      [
        'begin',
        'set local session_replication_role = replica', // the record of changes is emptied as well
        ...filled.map((name) => `delete from ${name}`),
        ...(await this.restarts()),
        `delete from pg_statistic where starelid in (select oid from pg_class where ${OURS})`,
        'commit',
      ].join('; '),
    );
    // leaves no free space to be filled in another order; truncating would include all tables that refer to them
    if (filled.length > 0) await this.database.query(`vacuum (index_cleanup on) ${filled.join()}`);
    return true;
  }

  private async restarts(): Promise<string[]> {
    return (await sequencesOf(this.database))
      .filter(({ name, last }) => last !== this.sequences.get(name))
      .map(({ name, start }) => {
        const last = this.sequences.get(name) ?? undefined;
        return `select setval('${name}', ${last ?? start}, ${last !== undefined})`;
      });
  }
}

const filledOf = (database: Rows, tables: readonly string[]): Promise<string[]> =>
  namesOf(
    database,
    tables.map((name) => `select '${name}' as name where exists (select from ${name})`).join(' union all '),
  );
