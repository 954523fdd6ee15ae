import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import path from 'node:path';
import type pg from 'pg';
import { parquetColumns } from '../../../src/common/files/parquet/copy-to-parquet.js';
import type { LakeTable } from '../../../src/features/outputs/lake/lake-tables.js';
import { ducked } from '../../harness/duck.js';

/**
 * SQL of a second month of the drive of `wholeRecord`: a shift with a stroke, an activity and two lines of support, the later one
 * at a lower position, and some samples of two months.
 */
export const secondMonth = (id: number): string => {
  const n = id * 100;
  return `insert into shift (id, project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
    values (${n + 70}, ${id}, ${id}, '2027-04-05', ${n}, '2027-04-05 06:00Z', '2027-04-05 18:00Z', 'draft', 'april');
  insert into boring (id, project_id, drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at, thrust_kn)
    values (${n + 70}, ${id}, ${id}, ${n + 70}, 3, 40, 41.7, '2027-04-05 06:00Z', '2027-04-05 07:00Z', 8123.4);
  insert into activity (id, project_id, drive_id, shift_id, started_at, ended_at, activity_code_id)
    values (${n + 70}, ${id}, ${id}, ${n + 70}, '2027-04-05 06:00Z', '2027-04-05 07:00:00.001Z', ${n});
  insert into support_installed (id, project_id, drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
    select ${n + 70} + k, ${id}, ${id}, ${n + 70}, 1 + k, ${n}, 'nr', zone, 40 - 5 * k, 41.7 - 5 * k, 6 from support_installed cross join generate_series(0, 1) k where id = ${n};
  select make_sample_month('2027-03-01'), make_sample_month('2027-04-01');
  insert into machine_sample (project_id, drive_id, at, position_m, thrust_kn, muck_flow_t_per_h)
    select ${id}, ${id}, timestamptz '2027-03-31 23:59:00Z' + k * interval '1 s', 10 + k / 1000.0, k / 3.0, case when k % 2 = 0 then 0.1 end from generate_series(0, 120) k
    on conflict do nothing;`;
};

/** Each Parquet file of a folder by its path: digest of its bytes. */
export const digestsOf = (folder: string): Record<string, string> =>
  Object.fromEntries(
    readdirSync(folder, { recursive: true })
      .map(String)
      .filter((name) => name.endsWith('.parquet'))
      .sort()
      .map((name) => [
        name,
        createHash('sha256')
          .update(readFileSync(path.join(folder, name)))
          .digest('hex'),
      ]),
  );

type Rows = Record<string, unknown>[];

/** Values of PostgreSQL and DuckDB in a common form, to the last digit: decimals as text with all decimals, moments as microseconds, readings as numbers. */
const listed = (columns: Awaited<ReturnType<typeof parquetColumns>>, isDuck: boolean): string =>
  columns
    .map(({ name, type }) => {
      const column = `"${name}"`;
      const micros = isDuck ? `epoch_us(${column})` : `(extract(epoch from ${column}) * 1000000)::bigint`;
      switch (type.kind) {
        case 'decimal':
          return isDuck
            ? `${column}::varchar as ${column}`
            : `${column}::numeric(${type.precision},${type.scale})::text as ${column}`;
        case 'instant':
        case 'local':
          return `${micros}::varchar as ${column}`;
        case 'double':
          return column;
        default:
          return `${column}::varchar as ${column}`;
      }
    })
    .join(', ');

/** Rows as sets, because neither side promises an order. */
const inOrder = (rows: Rows): Rows =>
  rows
    .map((row) => [JSON.stringify(row), row] as const)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([, row]) => row);

/** The rows of a table of the lake by DuckDB, and those of its view. @param where  restricts the view */
export const bothOf = async (
  client: pg.Client,
  folder: string,
  table: LakeTable,
  where = 'true',
): Promise<{ lake: Rows; view: Rows }> => {
  const columns = await parquetColumns(client, table.relation, table.decimals);
  await client.query(`set timezone = 'UTC'; set extra_float_digits = 1`);
  const { rows: view } = await client.query<Record<string, unknown>>(
    `select ${listed(columns, false)} from ${table.relation} v where ${where}`,
  );
  const partitioned = table.parts.length > 0;
  if (view.length === 0) return { lake: [], view };
  const lake = await ducked(
    `select ${listed(columns, true)} from read_parquet('${folder}/${table.name}/${partitioned ? '**/' : ''}*.parquet', hive_partitioning = ${partitioned}, hive_types_autocast = false) v`,
  );
  return { lake: inOrder(lake), view: inOrder(view) };
};
