import { once } from 'node:events';
import { finished } from 'node:stream/promises';
import type pg from 'pg';
import { type CopyStreamQuery, from as copyFrom } from 'pg-copy-streams';
import { type BackupHead, nameOf, type TableDigest, type TableShape } from './format.js';
import { columnList, Digesting, quoted, tableShapes } from './record-tables.js';

/** Something that keeps rows from being loaded unchanged, with the SQL that removes it and restores it. */
interface Guard {
  off: string;
  on: string;
}

const OWN = `(select oid from pg_namespace where nspname in ('public', 'history'))`;

// Triggers would recompute or reject values that were computed and checked when the row was written. Foreign keys are restored
// after all rows are loaded: PostgreSQL then checks each as a whole. COPY cannot load a table whose row-level security also
// applies to its owner.
const GUARDS = `
  select format('alter table %s drop constraint %I', conrelid::regclass, conname) as off,
    format('alter table %s add constraint %I %s', conrelid::regclass, conname, pg_get_constraintdef(oid)) as on
  from pg_constraint where contype = 'f' and conparentid = 0 and connamespace in ${OWN}
  union all
  select format('alter table %s disable trigger %I', tgrelid::regclass, tgname), format('alter table %s enable trigger %I', tgrelid::regclass, tgname)
  from pg_trigger join pg_class c on c.oid = tgrelid
  where not tgisinternal and tgparentid = 0 and tgenabled = 'O' and relnamespace in ${OWN}
  union all
  select format('alter table %s no force row level security', oid::regclass), format('alter table %s force row level security', oid::regclass)
  from pg_class where relforcerowsecurity and relnamespace in ${OWN}`;

/** Removes what keeps rows out. @returns the SQL that restores it */
export const unguard = async (client: pg.Client): Promise<string[]> => {
  const { rows } = await client.query<Guard>(GUARDS);
  for (const { off } of rows) await client.query(off);
  return rows.map(({ on }) => on);
};

const monthOf = ({ name }: TableShape): string => `${name.slice(-7).replace('_', '-')}-01`;

/** Creates the tables of the backup that no migration creates. */
export const makeMonths = async (client: pg.Client, { tables }: BackupHead): Promise<void> => {
  for (const table of tables.filter(({ attached }) => attached !== undefined))
    await client.query('select make_sample_month($1::date)', [monthOf(table)]);
};

/** Detaches the months from the table of samples that were detached in the backup. */
export const detachMonths = async (client: pg.Client, { tables }: BackupHead): Promise<void> => {
  for (const table of tables.filter(({ attached }) => attached === false))
    await client.query(`alter table public.machine_sample detach partition ${quoted(table)}`);
};

/** @throws Error when the backup's tables are not those that its migrations create */
export const assertTables = async (client: pg.Client, { tables }: BackupHead): Promise<void> => {
  const own = new Map((await tableShapes(client)).map((table) => [nameOf(table), table]));
  for (const table of tables) {
    const found = own.get(nameOf(table));
    if (found?.columns.join() !== table.columns.join())
      throw new Error(
        found
          ? `Table ${nameOf(table)} of the backup has columns ${table.columns.join(', ')}, but its migrations make ${found.columns.join(', ')}.`
          : `Table ${nameOf(table)} of the backup is made by none of its migrations: it was added to the database by hand.`,
      );
  }
  const all = tables.map(quoted).join(', ');
  if (all) await client.query(`truncate ${all}`); // rows inserted by migrations are in the backup too
};

/** Loads rows into one table after another. */
export class TableLoader {
  private readonly digests = new Map<string, TableDigest>();
  private readonly tables: Map<string, TableShape>;
  private current:
    { name: string; copy: CopyStreamQuery; done: Promise<void>; digesting: Digesting } | undefined;

  constructor(
    private readonly client: pg.Client,
    { tables }: BackupHead,
  ) {
    this.tables = new Map(tables.map((table) => [nameOf(table), table]));
  }

  async add(name: string, content: AsyncIterable<Buffer>): Promise<void> {
    if (this.current?.name !== name) await this.begin(name);
    const { current } = this;
    if (!current) return;
    for await (const piece of content) {
      current.digesting.add(piece);
      if (!current.copy.write(piece)) await Promise.race([once(current.copy, 'drain'), current.done]);
    }
  }

  /** Ends the last table. @returns counts and digests of the rows loaded */
  async end(): Promise<ReadonlyMap<string, TableDigest>> {
    const { current } = this;
    if (!current) return this.digests;
    current.copy.end();
    await current.done;
    this.digests.set(current.name, current.digesting.digest());
    this.current = undefined;
    return this.digests;
  }

  private async begin(name: string): Promise<void> {
    await this.end();
    const table = this.tables.get(name);
    if (!table || this.digests.has(name))
      throw new Error(`The backup is damaged: it has rows of ${name} out of place.`);
    const copy = this.client.query(copyFrom(`copy ${quoted(table)} (${columnList(table)}) from stdin`));
    const done = finished(copy).catch((error: Error) => {
      throw new Error(`The rows of ${name} cannot be inserted: ${error.message}`, { cause: error });
    });
    done.catch(() => undefined); // awaited when the table ends
    this.current = { name, copy, done, digesting: new Digesting() };
  }
}
