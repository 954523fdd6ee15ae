import type pg from 'pg';
import { WRITE_LINES, WRITE_SOURCES } from '../../src/features/payment/valuations/valuation-sql.js';
import type { Comparison } from './comparisons.js';
import { addDrive, copyDrive, SCALE } from './load.js';
import { processorTimeOf, saysProcessorTime } from './processor-time.js';
import type { Setting } from './setting.js';

/** Minimum number of support lines of the measured drive. */
const LINES = 1_000_000 * SCALE;

const COUNTERSIGNED = `update shift set state = 'countersigned', countersigned_by = 'bench', countersigned_at = now() where drive_id = $1`;

/** $2: the factor by which to multiply the lines. */
const MULTIPLIED = `insert into support_installed (drive_id, project_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
  select drive_id, project_id, shift_id, line + n * 1000, support_item_id, unit, zone, from_m, to_m, quantity
  from support_installed, generate_series(1, $2::int - 1) n where drive_id = $1`;

/** Four items of support, one of them by class, and two of the bore. $1 is the drive. */
const BILL = [
  `insert into bill (drive_id, version, valid_from, currency, minor_units) values ($1, 'A', '2000-01-01', 'CHF', 2)`,
  `insert into pay_item (drive_id, project_id, bill_id, reference, position, description, unit, decimals, rate)
    select b.drive_id, b.project_id, b.id, i.reference, i.position, i.reference, i.unit, 2, 10
    from bill b, (values ('BOLT', 1, 'nr'), ('MESH', 2, 'm2'), ('RIB', 3, 'nr'), ('SPRAY', 4, 'm3'), ('BORE', 5, 'm'), ('MUCK', 6, 'm3')) i(reference, position, unit)
    where b.drive_id = $1`,
  `insert into measurement_rule (drive_id, project_id, pay_item_id, source, dimension, items, classes)
    select i.drive_id, i.project_id, i.id, case when i.position < 5 then 'support' else 'advance' end::measure_source,
      case i.unit when 'nr' then 'count' when 'm2' then 'area' when 'm3' then 'volume' else 'length' end::measure_dimension,
      case when i.position < 5 then array[i.reference] end, case when i.reference in ('RIB', 'MUCK') then array['G1'] end
    from pay_item i where i.drive_id = $1`,
];

/** Has all shifts of a drive countersigned, and gives it a bill. Without triggers, as if it had been. */
const makePayable = async (client: pg.Client, drive: number): Promise<void> => {
  await client.query('set local session_replication_role = replica');
  await client.query(`select set_config('drivebook.project', (select id::text from project), true)`);
  for (const statement of [COUNTERSIGNED, ...BILL]) await client.query(statement, [drive]);
};

/** So that the plans of the large drive include month-end; once. */
export const payLargeDrive = async (client: pg.Client, drive: number): Promise<void> => {
  if ((await client.query('select from bill where drive_id = $1', [drive])).rowCount !== 0) return;
  await client.query('begin');
  await makePayable(client, drive);
  await client.query('commit');
  await client.query('vacuum analyze');
};

/** $2 1: until a month before the last shift, agreed; 2: a draft until the end. */
const VALUATION = `insert into valuation (drive_id, project_id, number, cut_off, state, prepared_by, agreed_by, agreed_at, digest)
  select drive_id, min(project_id), $2::int, max(shift_date) - case $2::int when 1 then 30 else 0 end, case $2::int when 1 then 'agreed' else 'draft' end::valuation_state,
    'bench', case $2::int when 1 then 'bench' end, case $2::int when 1 then now() end, case $2::int when 1 then repeat('0', 64) end
  from shift where drive_id = $1 group by drive_id returning id`;

/** A separate drive with a million support lines, measured until a month before its end. Without triggers, as if it had been. */
const addMeasuredDrive = async (client: pg.Client, from: number, lines: number): Promise<number> => {
  const drive = await addDrive(client, 'MEASURED');
  await copyDrive(client, from, drive);
  await client.query('begin');
  await makePayable(client, drive);
  await client.query(MULTIPLIED, [drive, Math.ceil(LINES / lines)]);
  const [first] = (await client.query<{ id: number }>(VALUATION, [drive, 1])).rows;
  await client.query('set local search_path = report, public');
  await client.query(WRITE_LINES, [first?.id]);
  await client.query(WRITE_SOURCES, [first?.id]);
  await client.query(
    `update valuation set certified_by = 'other', certified_at = now(), state = 'certified', measured_change = 1 where id = $1`,
    [first?.id],
  );
  await client.query(VALUATION, [drive, 2]);
  await client.query('commit');
  await client.query('vacuum analyze');
  return drive;
};

/** Goal for a draft of a million lines, with cached sums of its shifts. [ms] */
const MOST_MS = 1500;

/** The processor time of a month's valuation of a drive with a million support lines. */
export const compareValuation = async (setting: Setting, session: pg.Client): Promise<Comparison[]> => {
  if (!saysProcessorTime()) return [];
  const { client, driveIds, loaded, projectId } = setting;
  const drive = await addMeasuredDrive(client, driveIds.LARGE, loaded.supportLines);
  await client.query(`select set_config('drivebook.project', $1, false)`, [String(projectId)]);
  const began = performance.now();
  await client.query('select report_kept.keep_draft_sums($1, 0)', [drive]);
  const kept = `the sums of its shifts kept in ${Math.round(performance.now() - began)} ms, the first time`;
  await client.query('reset drivebook.project');
  const what =
    'GET …/valuations/2, a month of a drive of 1,000,000 support lines, the months before certified';
  const comparison = await processorTimeOf(setting, session, 'MEASURED/valuations/2', MOST_MS, what);
  return [{ ...comparison, notes: [kept] }];
};
