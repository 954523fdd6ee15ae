import type pg from 'pg';
import { readCodes, writeRows } from './hand-writer.js';
import { makeShift, type Piece } from './shift-maker.js';

/** For trying out the bench: BENCH_SCALE=0.05 scales all large sizes by that factor. Such results are printed, not saved. */
export const SCALE = Number(process.env['BENCH_SCALE'] ?? 1);

const scaled = (size: number): number => Math.round(size * SCALE);

export const LARGE = {
  strokes: scaled(12_000),
  lengthMm: scaled(20_000_000),
  shifts: scaled(2200),
  activities: scaled(60_000),
};

const SUPPORT_PER_SHIFT = 55;
const SHIFTS_PER_TRANSACTION = 100;

const CATALOGUE = `
  insert into project (code, name, time_zone, day_start, currency) values ('P', 'Bench', 'Europe/Zurich', '06:00', 'CHF');
  insert into calendar_shift (project_id, name, start_time, end_time, weekdays)
    select p.id, n.* from project p, (values ('day', '06:00', '18:00', '{1,2,3,4,5,6,7}'::smallint[]),
      ('night', '18:00', '06:00', '{1,2,3,4,5,6,7}')) n;
  insert into activity_code (project_id, code, description, counts_as)
    select p.id, c.* from project p, (values ('BORE', 'boring', 'boring'::time_class), ('REGRIP', 'regripping', 'regripping'),
      ('MAINT', 'maintenance', 'planned_stop'), ('CUTTER', 'disc change', 'planned_stop'), ('BELT', 'belt stands', 'breakdown'),
      ('ROCK', 'rock support', 'ground'), ('WAIT', 'waiting', 'waiting')) c;
  insert into ground_class (project_id, code, description)
    select p.id, c.* from project p, (values ('G1', 'good'), ('G2', 'fair')) c;
  insert into support_item (project_id, code, kind, unit, description)
    select p.id, c.* from project p, (values ('BOLT', 'bolt'::support_kind, 'nr'::support_unit, 'bolt 3 m'), ('MESH', 'mesh', 'm2', 'mesh'),
      ('RIB', 'rib', 'nr', 'rib'), ('SPRAY', 'sprayed_concrete', 'm3', 'sprayed concrete')) c;
  insert into machine (project_id, code, name, disc_count, disc_radius_mm, friction_kn, idle_torque_knm, torque_ratio_lower, torque_ratio_upper)
    select id, 'M', 'machine', 60, 216, 1500, 300, 0.8, 1.2 from project`;

const DRIVE = `insert into drive (project_id, code, name, machine_id, start_chainage_m, end_chainage_m, direction, bored_diameter_m)
  select p.id, $1, $1, m.id, 1000, 41000, 1, 9.4 from project p join machine m on m.project_id = p.id returning id`;

export const addDrive = async (client: pg.Client, code: string): Promise<number> => {
  const { rows } = await client.query<{ id: number }>(DRIVE, [code]);
  return rows[0]?.id ?? 0;
};

export const addCatalogue = async (client: pg.Client): Promise<void> => {
  await client.query(CATALOGUE);
};

const upTo = (total: number, shift: number): number => Math.floor((total * shift) / LARGE.shifts);

/** The pieces of a shift; every fourth shift leaves half of its last stroke to the next. */
const piecesOf = (shift: number): Piece[] => {
  const strokeMm = (stroke: number): number => Math.round((LARGE.lengthMm * stroke) / LARGE.strokes);
  const pieces: Piece[] = [];
  for (let stroke = upTo(LARGE.strokes, shift); stroke < upTo(LARGE.strokes, shift + 1); stroke += 1)
    pieces.push({ stroke: stroke + 1, fromMm: strokeMm(stroke), toMm: strokeMm(stroke + 1) });
  const halve = ({ fromMm, toMm }: Piece): number => Math.round((fromMm + toMm) / 2);
  const last = pieces.at(-1);
  if (shift % 4 === 3 && shift + 1 < LARGE.shifts && last) last.toMm = halve(last);
  if (shift % 4 === 0 && shift > 0) {
    const first = upTo(LARGE.strokes, shift);
    const rest = { stroke: first, fromMm: strokeMm(first - 1), toMm: strokeMm(first) };
    pieces.unshift({ ...rest, fromMm: halve(rest) });
  }
  return pieces;
};

/**
 * Loads the large drive shift by shift, with all constraints and triggers.
 * @returns how long it took, and the number of borings and support lines
 */
export const loadLargeDrive = async (
  client: pg.Client,
  driveId: number,
): Promise<{ seconds: number; borings: number; supportLines: number }> => {
  const codes = await readCodes(client);
  const start = performance.now();
  let borings = 0;
  for (let shift = 0; shift < LARGE.shifts; shift += 1) {
    if (shift % SHIFTS_PER_TRANSACTION === 0) await client.query('begin');
    const pieces = piecesOf(shift);
    const activities = upTo(LARGE.activities, shift + 1) - upTo(LARGE.activities, shift);
    await writeRows(
      client,
      codes,
      driveId,
      makeShift(shift, pieces, { activities, support: SUPPORT_PER_SHIFT, ground: 2 }),
    );
    borings += pieces.length;
    if ((shift + 1) % SHIFTS_PER_TRANSACTION === 0 || shift + 1 === LARGE.shifts)
      await client.query('commit');
  }
  const supportLines = LARGE.shifts * SUPPORT_PER_SHIFT;
  return { seconds: (performance.now() - start) / 1000, borings, supportLines };
};

const columnsOf = async (client: pg.Client, table: string): Promise<string> => {
  const { rows } = await client.query<{ columns: string }>(
    `select string_agg(column_name, ', ' order by ordinal_position) as columns from information_schema.columns
     where table_schema = 'public' and table_name = $1 and column_name not in ('id', 'drive_id', 'shift_id') and is_generated = 'NEVER'`,
    [table],
  );
  return rows[0]?.columns ?? '';
};

const OF_SHIFTS = ['boring', 'activity', 'support_installed', 'ground_interval'];

/** Removes the rows of a copied drive again, likewise without triggers: the history does not know them. */
export const removeCopy = async (client: pg.Client, drive: number): Promise<void> => {
  await client.query('begin');
  await client.query('set local session_replication_role = replica');
  for (const table of [...OF_SHIFTS, 'shift'])
    await client.query(`delete from ${table} where drive_id = $1`, [drive]);
  await client.query('commit');
};

/** Copies a drive's shifts and their rows, without triggers: a neighbour whose rows a query for the first must not read. */
export const copyDrive = async (
  client: pg.Client,
  from: number,
  to: number,
  tables: readonly string[] = OF_SHIFTS,
): Promise<void> => {
  await client.query('begin');
  await client.query('set local session_replication_role = replica');
  const shift = await columnsOf(client, 'shift');
  await client.query(
    `insert into shift (drive_id, ${shift}) select $2, ${shift} from shift where drive_id = $1`,
    [from, to],
  );
  for (const table of tables) {
    const own = await columnsOf(client, table);
    const read = own.replace(/\w+/g, 'r.$&');
    await client.query(
      `insert into ${table} (drive_id, shift_id, ${own}) select n.drive_id, n.id, ${read} from ${table} r join shift s on s.id = r.shift_id
       join shift n on n.drive_id = $2 and n.starts_at = s.starts_at where r.drive_id = $1`,
      [from, to],
    );
  }
  await client.query('commit');
};
