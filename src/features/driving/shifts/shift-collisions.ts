import { type Fault, faulty, type ProblemError } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import type { ShiftContext } from './shift-context.js';
import { type ShiftRows, storedRows } from './shift-rows.js';
import { metres, minutes, moment } from '../../../common/words.js';

interface Standing {
  pointer: string;
  date: string | null;
  shift: string | null;
}

interface MetresTwice extends Standing {
  strokeNumber: number;
  fromMm: number;
  toMm: number;
  twiceMm: number;
  /** of the document's entry */
  ownFromMm: number;
  ownToMm: number;
}

interface Twice {
  strokes: MetresTwice[];
  strokeTimes: (Standing & { strokeNumber: number; twiceMs: number })[];
  ground: (MetresTwice & { groundClass: string })[];
  hours: (Standing & { startsAt: string; endsAt: string; twiceMs: number })[];
}

const SHIFT = `s.shift_date as date, c.name as shift`;
const OF_SHIFT = `left join shift s on s.id = o.shift_id left join calendar_shift c on c.id = s.calendar_shift_id`;
const PLACE = `(o.from_m * 1000)::int8 as "fromMm", (o.to_m * 1000)::int8 as "toMm",
  (metres_within(o.from_m, o.to_m, r."fromM", r."toM") * 1000)::int8 as "twiceMm", (r."fromM" * 1000)::int8 as "ownFromMm", (r."toM" * 1000)::int8 as "ownToMm"`;

const TWICE = `with document as (select $2::jsonb as d),
  strokes as (
    select r.pointer, o.stroke_number as "strokeNumber", ${PLACE}, ${SHIFT}
    from document, jsonb_to_recordset(d -> 'borings') as r(pointer text, "fromM" numeric, "toM" numeric)
    join boring o on o.drive_id = $1 and numrange(o.from_m, o.to_m) && numrange(r."fromM", r."toM") and o.shift_id is distinct from $3 ${OF_SHIFT}),
  stroke_times as (
    select r.pointer, o.stroke_number as "strokeNumber", ${SHIFT},
      seconds_within(o.started_at, o.ended_at, r."startedAt", r."endedAt") * 1000 as "twiceMs"
    from document, jsonb_to_recordset(d -> 'borings') as r(pointer text, "startedAt" timestamptz, "endedAt" timestamptz)
    join boring o on o.drive_id = $1 and tstzrange(o.started_at, o.ended_at) && tstzrange(r."startedAt", r."endedAt") and o.started_at is not null
      and o.shift_id is distinct from $3 ${OF_SHIFT}),
  ground as (
    select r.pointer, k.code as "groundClass", ${PLACE}, ${SHIFT}
    from document, jsonb_to_recordset(d -> 'ground') as r(pointer text, "fromM" numeric, "toM" numeric)
    join ground_interval o on o.drive_id = $1 and numrange(o.from_m, o.to_m) && numrange(r."fromM", r."toM") and o.shift_id is distinct from $3
    join ground_class k on k.id = o.ground_class_id ${OF_SHIFT}),
  hours as (
    select '/startsAt' as pointer, ${SHIFT}, s.starts_at as "startsAt", s.ends_at as "endsAt",
      seconds_within(s.starts_at, s.ends_at, $4::timestamptz, $5::timestamptz) * 1000 as "twiceMs"
    from shift s join calendar_shift c on c.id = s.calendar_shift_id
    where s.drive_id = $1 and s.id is distinct from $3 and tstzrange(s.starts_at, s.ends_at) && tstzrange($4::timestamptz, $5::timestamptz))
  select (select coalesce(json_agg(x), '[]') from strokes x) as strokes, (select coalesce(json_agg(x), '[]') from stroke_times x) as "strokeTimes",
    (select coalesce(json_agg(x), '[]') from ground x) as ground, (select coalesce(json_agg(x), '[]') from hours x) as hours`;

const whose = ({ date, shift }: Standing): string =>
  date === null ? 'of an import' : `of shift ${date} ${shift}`;

/**
 * The entries of a refused document that other shifts already have, in words and figures. Read after the refusal, so that normal
 * writes do not pay for it.
 */
export const collisions = async (
  statements: Statements,
  context: ShiftContext,
  rows: ShiftRows,
): Promise<ProblemError> => {
  const { driveId, timeZone, frame, standing } = context;
  const [twice] = await readRows<Twice>(
    statements,
    TWICE,
    driveId,
    JSON.stringify(storedRows(rows, context)),
    standing?.id ?? null,
    new Date(rows.startsAt).toISOString(),
    new Date(rows.endsAt).toISOString(),
  );
  const chainage = (mm: number): string => frame.chainage(mm);
  const clock = (instant: string): string => moment(Date.parse(instant), timeZone);
  const own = ({ ownFromMm, ownToMm }: MetresTwice): string =>
    `${chainage(ownFromMm)} to ${chainage(ownToMm)}`;
  const other = ({ fromMm, toMm }: MetresTwice): string => `${chainage(fromMm)} to ${chainage(toMm)}`;
  const fault = (pointer: string, value: unknown, detail: string): Fault => ({
    in: 'body',
    pointer,
    value,
    detail,
  });
  const faults = [
    ...(twice?.strokes ?? []).map((row) =>
      fault(
        `${row.pointer}/from`,
        chainage(row.ownFromMm),
        `the boring ${own(row)} overlaps stroke ${row.strokeNumber} ${whose(row)}, ${other(row)}: ${metres(row.twiceMm)} twice`,
      ),
    ),
    ...(twice?.strokeTimes ?? []).map((row) =>
      fault(
        `${row.pointer}/startedAt`,
        undefined,
        `the boring overlaps stroke ${row.strokeNumber} ${whose(row)} in time: ${minutes(row.twiceMs)} twice`,
      ),
    ),
    ...(twice?.ground ?? []).map((row) =>
      fault(
        `${row.pointer}/from`,
        chainage(row.ownFromMm),
        `the ground ${own(row)} overlaps ${row.groundClass} ${whose(row)}, ${other(row)}: ${metres(row.twiceMm)} twice`,
      ),
    ),
    ...(twice?.hours ?? []).map((row) =>
      fault(
        row.pointer,
        moment(rows.startsAt, timeZone),
        `the shift overlaps shift ${row.date} ${row.shift}, ${clock(row.startsAt)} to ${clock(row.endsAt)}: ${minutes(row.twiceMs)} twice`,
      ),
    ),
  ];
  if (faults.length === 0)
    return faulty('conflict', [
      fault('', undefined, 'the drive changed while the shift was written: send it again'),
    ]);
  return faulty('unbalanced', faults);
};
