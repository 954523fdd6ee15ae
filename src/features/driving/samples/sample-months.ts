import { createHash } from 'node:crypto';
import { createWriteStream, renameSync, rmSync, writeFileSync } from 'node:fs';
import { pipeline } from 'node:stream/promises';
import pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import { inTransaction } from '../../../common/database/in-transaction.js';
import { assertNew, sha256Of } from '../../../common/files/disk.js';

/** How long detaching waits for readers and writers of samples. */
const LOCK_TIMEOUT = '10s';

export interface SampleMonth {
  /** The first day of the month. */
  month: string;
  state: 'in the record' | 'detached' | 'archived' | 'dropped';
  rows: string;
  bytes: string;
  detachedAt: string | null;
}

/** The table of a month, by its first day. */
export const tableOf = (month: string): string =>
  `public.${pg.escapeIdentifier(`machine_sample_${month.slice(0, 7).replace('-', '_')}`)}`;

const TABLES = `select c.relname as name, to_date(right(c.relname, 7), 'YYYY_MM')::text as month, pg_total_relation_size(c.oid)::text as bytes
  from pg_class c where c.relnamespace = 'public'::regnamespace and c.relkind = 'r' and c.relname ~ '^machine_sample_\\d{4}_\\d\\d$' order by 2`;

const RETIRED = `select month::text, to_char(detached_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') as "detachedAt", archived_rows::text as "archivedRows",
  archived_sha256 as sha256, dropped_at is not null as dropped from _drivebook.retired_sample_month order by month`;

interface Retired {
  month: string;
  detachedAt: string;
  archivedRows: string | null;
  sha256: string | null;
  dropped: boolean;
}

const retiredMonths = async (client: pg.Client): Promise<Map<string, Retired>> => {
  const { rows } = await client.query<Retired>(RETIRED);
  return new Map(rows.map((row) => [row.month, row]));
};

const rowsIn = async (client: pg.Client, month: string): Promise<string> => {
  const { rows } = await client.query<{ rows: string }>(
    `select count(*)::text as rows from ${tableOf(month)}`,
  );
  return rows[0]?.rows ?? '0';
};

/** The months whose samples are in the database, detached or not: the first day of each, oldest first. */
export const monthsInDatabase = async (client: pg.Client): Promise<string[]> => {
  const { rows } = await client.query<{ month: string }>(TABLES);
  return rows.map(({ month }) => month);
};

/** The months of samples, including dropped ones. */
export const sampleMonths = async (client: pg.Client): Promise<SampleMonth[]> => {
  const { rows: tables } = await client.query<{ month: string; bytes: string }>(TABLES);
  const retired = await retiredMonths(client);
  const months: SampleMonth[] = [];
  for (const { month, bytes } of tables) {
    const found = retired.get(month);
    const state = !found ? 'in the record' : found.sha256 === null ? 'detached' : 'archived';
    months.push({
      month,
      state,
      rows: await rowsIn(client, month),
      bytes,
      detachedAt: found?.detachedAt ?? null,
    });
  }
  for (const { month, detachedAt, archivedRows, dropped } of retired.values())
    if (dropped) months.push({ month, state: 'dropped', rows: archivedRows ?? '0', bytes: '0', detachedAt });
  return months.sort((a, b) => (a.month < b.month ? -1 : 1));
};

const atomic = async <T>(client: pg.Client, work: () => Promise<T>): Promise<T> => {
  try {
    return await inTransaction(
      client,
      work,
      `begin; set local lock_timeout = '${LOCK_TIMEOUT}'; set local timezone = 'UTC'`,
    );
  } catch (error) {
    if ((error as { code?: string }).code !== '55P03') throw error;
    throw new Error('Samples are being read or written for longer than 10 s: try again.', { cause: error });
  }
};

const named = (month: string): string => month.slice(0, 7);

/** @throws Error unless the month is detached and its table exists */
const detached = async (client: pg.Client, month: string): Promise<Retired> => {
  const found = (await retiredMonths(client)).get(month);
  if (!found) throw new Error(`The samples of ${named(month)} are in the record: detach them first.`);
  if (found.dropped)
    throw new Error(`The samples of ${named(month)} are dropped: their archive, or the lake, has them.`);
  return found;
};

/** Detaches a month from the record; its samples stay in a separate table. */
export const detachMonth = (client: pg.Client, month: string, by: string): Promise<void> =>
  atomic(client, async () => {
    if ((await retiredMonths(client)).has(month))
      throw new Error(`The samples of ${named(month)} are retired already.`);
    if (!(await monthsInDatabase(client)).includes(month))
      throw new Error(`There are no samples of ${named(month)}.`);
    await takeOut(client, month, by);
  });

const takeOut = async (client: pg.Client, month: string, by: string): Promise<void> => {
  await client.query(`alter table public.machine_sample detach partition ${tableOf(month)}`);
  await client.query('insert into _drivebook.retired_sample_month (month, detached_by) values ($1, $2)', [
    month,
    by,
  ]);
};

/** Attaches a month again that has not been dropped. */
export const attachMonth = (client: pg.Client, month: string): Promise<void> =>
  atomic(client, async () => {
    await detached(client, month);
    await client.query(
      `alter table public.machine_sample attach partition ${tableOf(month)}
       for values from (${pg.escapeLiteral(`${month}T00:00:00Z`)}) to (${pg.escapeLiteral(nextMonth(month))})`,
    );
    await client.query('delete from _drivebook.retired_sample_month where month = $1', [month]);
  });

const nextMonth = (month: string): string =>
  new Date(Date.UTC(Number(month.slice(0, 4)), Number(month.slice(5, 7)), 1)).toISOString();

const ARCHIVE = (table: string): string => `copy (
    select p.code as "project", d.code as "drive", to_char(m.at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') as "at", m.position_m as "positionM",
      m.thrust_kn as "thrustKn", m.torque_knm as "torqueKnm", m.rotation_rpm as "rotationRpm", m.penetration_rate_mm_per_min as "penetrationRateMmPerMin",
      m.gripper_pressure_bar as "gripperPressureBar", m.muck_flow_t_per_h as "muckFlowTPerH"
    from ${table} m join drive d on d.id = m.drive_id join project p on p.id = d.project_id order by p.code collate "C", d.code collate "C", m.at
  ) to stdout with (format csv, header)`;

export interface Archived {
  month: string;
  rows: number;
  sha256: string;
}

const NEWLINE = 10;

/**
 * Writes a detached month to a CSV file, with FILE.json beside it for its number of rows and digest.
 * @throws Error when the file exists, or the month is still in the record
 */
export const archiveMonth = async (client: pg.Client, month: string, file: string): Promise<Archived> => {
  await detached(client, month);
  assertNew(file);
  const half = `${file}.${process.pid}.partial`;
  const hash = createHash('sha256');
  let lines = 0;
  try {
    await client.query('set extra_float_digits = 1');
    await pipeline(
      client.query(copyTo(ARCHIVE(tableOf(month)))),
      async function* (pieces: AsyncIterable<Buffer>) {
        for await (const piece of pieces) {
          hash.update(piece);
          for (let at = piece.indexOf(NEWLINE); at >= 0; at = piece.indexOf(NEWLINE, at + 1)) lines += 1;
          yield piece;
        }
      },
      createWriteStream(half, { flags: 'wx', flush: true }),
    );
    renameSync(half, file);
  } finally {
    rmSync(half, { force: true });
  }
  const archived = { month: named(month), rows: lines - 1, sha256: hash.digest('hex') };
  writeFileSync(`${file}.json`, `${JSON.stringify(archived, undefined, 2)}\n`, { flush: true });
  await client.query(
    'update _drivebook.retired_sample_month set archived_at = clock_timestamp(), archived_rows = $2, archived_sha256 = $3 where month = $1',
    [month, archived.rows, archived.sha256],
  );
  return archived;
};

/** Drops the table of a month. @throws Error when its number of rows differs from the copy: samples are only ever added, so counting is enough */
const dropIfCopied = async (
  client: pg.Client,
  month: string,
  copied: string | null,
  copy: 'archive' | 'copy',
): Promise<void> => {
  await client.query(`lock table ${tableOf(month)} in access exclusive mode`);
  const rows = await rowsIn(client, month);
  if (rows !== copied)
    throw new Error(
      `The table of ${named(month)} has ${rows} rows, but its ${copy} ${copied}: ${copy} it again.`,
    );
  await client.query(`drop table ${tableOf(month)}`);
};

/** Drops the table of an archived month. @throws Error when the archive does not match, or rows have changed since */
export const dropMonth = async (client: pg.Client, month: string, archive: string): Promise<void> => {
  const { sha256, archivedRows } = await detached(client, month);
  if (sha256 === null)
    throw new Error(`The samples of ${named(month)} are not archived: archive them first.`);
  if ((await sha256Of(archive)) !== sha256)
    throw new Error(`${archive} is not the archive of ${named(month)}: its SHA-256 differs from ${sha256}.`);
  await atomic(client, async () => {
    await dropIfCopied(client, month, archivedRows, 'archive');
    await client.query(
      'update _drivebook.retired_sample_month set dropped_at = clock_timestamp() where month = $1',
      [month],
    );
  });
};

/** A copy of all samples of a month, outside the database. */
export interface MonthCopy {
  rows: number;
  sha256: string;
}

/**
 * Detaches a month from the record, unless it is already detached, and drops its table.
 * @throws Error when the table has gained rows since the copy
 */
export const moveMonth = (client: pg.Client, month: string, by: string, copy: MonthCopy): Promise<void> =>
  atomic(client, async () => {
    const isDetached = (await retiredMonths(client)).has(month);
    if (!isDetached) await takeOut(client, month, by);
    await dropIfCopied(client, month, String(copy.rows), 'copy');
    await client.query(
      `update _drivebook.retired_sample_month set archived_at = clock_timestamp(), archived_rows = $2, archived_sha256 = $3, dropped_at = clock_timestamp()
       where month = $1`,
      [month, copy.rows, copy.sha256],
    );
  });
