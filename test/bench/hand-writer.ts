/**
 * What an experienced developer would write with pg alone: one transaction, a prepared statement per table, arrays for rows, codes known
 * beforehand. It trusts its input: no rules of its own, only those of the database.
 */
import { createHash } from 'node:crypto';
import type pg from 'pg';
import { type BoringMachine, boringValues } from '../../src/engineering/stroke-values.js';
import { type MadeShift, START_MM } from './shift-maker.js';

export interface Codes {
  machine: BoringMachine;
  calendar: Record<string, number>;
  activities: Record<string, number>;
  classes: Record<string, number>;
  items: Record<string, { id: number; unit: string }>;
}

const CODES = `select
  (select json_build_object('discCount', m.disc_count, 'discRadiusMm', m.disc_radius_mm, 'boredDiameterM', d.bored_diameter_m,
    'frictionKn', m.friction_kn, 'idleTorqueKnm', m.idle_torque_knm, 'torqueRatioLower', m.torque_ratio_lower,
    'torqueRatioUpper', m.torque_ratio_upper) from drive d join machine m on m.id = d.machine_id limit 1) as machine,
  (select json_object_agg(name, id) from calendar_shift) as calendar,
  (select json_object_agg(code, id) from activity_code) as activities,
  (select json_object_agg(code, id) from ground_class) as classes,
  (select json_object_agg(code, json_build_object('id', id, 'unit', unit)) from support_item) as items`;

export const readCodes = async (client: pg.Client | pg.PoolClient): Promise<Codes> => {
  const { rows } = await client.query<Codes>(CODES);
  if (!rows[0]) throw new Error('no codes');
  return rows[0];
};

const SHIFT = `insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, crew_lead, digest)
  values ($1, $2, $3, $4, $5, $6, $7, $8) returning id`;

const BORING = `insert into boring (drive_id, shift_id, stroke_number, from_m, to_m, started_at, ended_at, thrust_kn, torque_knm, rotation_rpm,
  penetration_mm_per_rev, gripper_pressure_bar, muck_mass_t, penetration_rate_m_per_h, thrust_per_disc_kn, field_penetration_index,
  specific_energy_mj_per_m3, theoretical_torque_knm, torque_ratio, regular_advance,
  power_kw, torque_penetration_index)
  select $1, $2, * from unnest($3::int[], $4::numeric[], $5::numeric[], $6::timestamptz[], $7::timestamptz[], $8::float8[], $9::float8[],
  $10::float8[], $11::float8[], $12::float8[], $13::numeric[], $14::float8[], $15::float8[], $16::float8[], $17::float8[], $18::float8[],
  $19::float8[], $20::boolean[], $21::float8[], $22::float8[])`;

const ACTIVITY = `insert into activity (drive_id, shift_id, started_at, ended_at, activity_code_id, remark)
  select $1, $2, * from unnest($3::timestamptz[], $4::timestamptz[], $5::int[], $6::text[])`;

const SUPPORT = `insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity, arc_from_deg,
  arc_to_deg, thickness_mm, installed_at)
  select $1, $2, * from unnest($3::int[], $4::int[], $5::support_unit[], $6::text[], $7::numeric[], $8::numeric[], $9::numeric[],
  $10::numeric[], $11::numeric[], $12::numeric[], $13::timestamptz[])`;

const GROUND = `insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id, lithology)
  select $1, $2, * from unnest($3::numeric[], $4::numeric[], $5::int[], $6::text[])`;

const metres = (chainage: string): number => {
  const [km = '0', m = '0'] = chainage.split('+');
  return (Number(km) * 1_000_000 + Math.round(Number(m) * 1000) - START_MM) / 1000;
};

const column = <T, V>(rows: T[], value: (row: T, index: number) => V): V[] => rows.map(value);

const OPEN_ITEMS = `select kind, from_m::text, from_at, to_at, missing_m::text, missing_minutes::text, doubt from report.open_item where shift_id = $1
  order by from_m nulls last, from_at, kind`;

/** What a written shift still misses, as the service answers it. */
export const openItems = async (client: pg.Client | pg.PoolClient, shiftId: number): Promise<object[]> =>
  (await client.query<object>({ name: 'open items', text: OPEN_ITEMS, values: [shiftId] })).rows;

/** Writes the rows of a shift in the open transaction. @returns its id */
export const writeRows = async (
  client: pg.Client | pg.PoolClient,
  codes: Codes,
  driveId: number,
  { date, shift, body }: MadeShift,
): Promise<number> => {
  const send = (name: string, text: string, ...values: unknown[]) =>
    client.query<{ id: number }>({ name, text, values });
  const digest = createHash('sha256').update(JSON.stringify(body)).digest('hex');
  const head = [body.startsAt, body.endsAt, body.state, body.crewLead, digest];
  const { rows } = await send('shift', SHIFT, driveId, date, codes.calendar[shift], ...head);
  const id = rows[0]?.id ?? 0;
  const own = [driveId, id];
  const borings = body.strokes.flatMap(({ number, borings: parts }) =>
    parts.map((part) => ({ ...part, number, ...boringValues(part, codes.machine) })),
  );
  await send(
    'boring',
    BORING,
    ...own,
    column(borings, (b) => b.number),
    column(borings, (b) => metres(b.from)),
    column(borings, (b) => metres(b.to)),
    column(borings, (b) => b.startedAt),
    column(borings, (b) => b.endedAt),
    column(borings, (b) => b.thrustKn),
    column(borings, (b) => b.torqueKnm),
    column(borings, (b) => b.rotationRpm),
    column(borings, (b) => b.penetrationMmPerRev),
    column(borings, (b) => b.gripperPressureBar),
    column(borings, (b) => b.muckMassT),
    column(borings, (b) => b.penetrationRateMPerH),
    column(borings, (b) => b.thrustPerDiscKn),
    column(borings, (b) => b.fieldPenetrationIndex),
    column(borings, (b) => b.specificEnergyMjPerM3),
    column(borings, (b) => b.theoreticalTorqueKnm),
    column(borings, (b) => b.torqueRatio),
    column(borings, (b) => b.regularAdvance),
    column(borings, (b) => b.powerKw),
    column(borings, (b) => b.torquePenetrationIndex),
  );
  await send(
    'activity',
    ACTIVITY,
    ...own,
    column(body.activities, (a) => a.startedAt),
    column(body.activities, (a) => a.endedAt),
    column(body.activities, (a) => codes.activities[a.code]),
    column(body.activities, (a) => a.remark ?? null),
  );
  await send(
    'support',
    SUPPORT,
    ...own,
    column(body.support, (_, index) => index + 1),
    column(body.support, (s) => codes.items[s.item]?.id),
    column(body.support, (s) => codes.items[s.item]?.unit),
    column(body.support, (s) => s.zone),
    column(body.support, (s) => metres(s.from)),
    column(body.support, (s) => metres(s.to ?? s.from)),
    column(body.support, (s) => s.quantity),
    column(body.support, (s) => s.arcFromDeg ?? null),
    column(body.support, (s) => s.arcToDeg ?? null),
    column(body.support, (s) => s.thicknessMm ?? null),
    column(body.support, (s) => s.installedAt),
  );
  await send(
    'ground',
    GROUND,
    ...own,
    column(body.ground, (g) => metres(g.from)),
    column(body.ground, (g) => metres(g.to)),
    column(body.ground, (g) => codes.classes[g.groundClass]),
    column(body.ground, (g) => g.lithology),
  );
  return id;
};
