import { type Columns, columnsOf, extra, sql } from '../../../common/database/reading.js';
import {
  DailyAlert,
  DailyGround,
  DailyGroundLog,
  DailyGrouting,
  DailyPhoto,
  DailyProbeHole,
  DailyQuarter,
  DailyStop,
  DailyStroke,
  DailySupport,
  DailySupportSum,
  DailyTime,
} from './daily-entries.models.js';
import { DailyReport, DailyShift } from './daily-report.models.js';

/** The queries of a daily report, on schema report. */

const DAY_AND_TIME = 'YYYY-MM-DD HH24:MI';

/** $1 the drive's id, $2 and $3 the first and the last day. */
const start = (day: string): string => `production_day_start(${day}, p.time_zone, p.day_start)`;

export const HEAD = `select p.name as "projectName", d.name as "driveName", p.time_zone as "timeZone",
    (select json_build_object('change', c.number, 'changedAt', c.made_at, 'changedClock', to_char(timezone(p.time_zone, c.made_at), '${DAY_AND_TIME}'))
      from (select number, made_at from change order by number desc limit 1) c) as "lastChange",
    (select coalesce(json_agg(json_build_object('side', y.side, 'kind', y.kind, 'name', y.name) order by y.side, y.kind, y.code), '[]')
      from party y where y.project_id = p.id) as parties
  from drive d join project p on p.id = d.project_id where d.id = $1`;

const SHEET = columnsOf(DailyShift, 's', {
  date: 'shift_date',
  shift: 'shift_name',
  startsLocal: `to_char(s.starts_local, '${DAY_AND_TIME}')`,
  endsLocal: `to_char(s.ends_local, '${DAY_AND_TIME}')`,
  submittedClock: `to_char(timezone(p.time_zone, s.submitted_at), '${DAY_AND_TIME}')`,
}).only(
  ...([
    'date',
    'shift',
    'startsAt',
    'endsAt',
    'startsLocal',
    'endsLocal',
    'seconds',
    'state',
    'digest',
    'crewLead',
    'remark',
  ] as const),
  ...(['postedBy', 'postedFor', 'submittedClock'] as const),
);

/** The shifts that start in the days, with the figures of shift_advance and day_advance; shifts are found by the index on their start. */
export const SHIFTS = sql`select ${SHEET}, ${extra<{ id: number; day: string }>({ id: 's.shift_id', day: 's.production_day' })}
  from project p join shift_sheet s on s.drive_id = $1
  where p.id = scope_project() and s.starts_at >= (select ${start('$2::date')} from project p where p.id = scope_project())
    and s.starts_at < (select ${start('$3::date + 1')} from project p where p.id = scope_project())
  order by s.starts_at`;

const ADVANCE = [
  'advanceM',
  'fromChainage',
  'faceChainage',
  'strokeCount',
  'boringHours',
  'cumulativeM',
] as const;

const DAY = columnsOf(DailyReport, 'a', {
  date: 'production_day',
  startsLocal: `to_char(timezone(p.time_zone, ${start('a.production_day')}), '${DAY_AND_TIME}')`,
  endsLocal: `to_char(timezone(p.time_zone, ${start('a.production_day + 1')}), '${DAY_AND_TIME}')`,
}).only('date', 'startsLocal', 'endsLocal', ...ADVANCE);

/** $2 and $3 as above. */
export const DAYS = sql`select ${DAY}
  from day_advance a join drive d on d.id = a.drive_id join project p on p.id = d.project_id
  where a.drive_id = $1 and a.production_day >= $2::date and a.production_day <= $3::date`;

const OF_DAY = extra<{ day: string }>({ day: 'production_day' });

/** By day: $1 the drive's id, $2 and $3 the first and the last day. */
export const DAY_TIMES = sql`select ${columnsOf(DailyTime)}, ${OF_DAY}
  from day_time_class($1, $2::date, $3::date) order by production_day, counts_as`;

export const DAY_SUPPORT = sql`select ${columnsOf(DailySupportSum, '', { item: 'item_code' })}, ${OF_DAY}
  from day_support where drive_id = $1 and production_day >= $2::date and production_day <= $3::date order by production_day, zone, item_code`;

export const MISSING = sql`select ${extra<{ day: string; shift: string }>({ day: 'shift_date', shift: 'shift_name' })} from missing_shift
  where drive_id = $1 and shift_date >= $2::date and shift_date <= $3::date order by from_at`;

const alertColumns = (table: string, timeZone: string): Columns<DailyAlert> =>
  columnsOf(DailyAlert, table, {
    raisedClock: `to_char(timezone(${timeZone}, raised_at), '${DAY_AND_TIME}')`,
  });

/** $1 the drive's id, $2 the time zone; for the drive as a whole, whatever the day. */
export const OPEN_ALERTS = sql`select ${alertColumns('', '$2')}
  from alert_register where drive_id = $1 and is_open order by number`;

/** By shift: $1 their ids, $2 the drive's, $3 the time zone. */
const OF_SHIFTS = 'drive_id = $2 and shift_id = any ($1::int[])';
const OF_SHEETS = 's.drive_id = $2 and s.shift_id = any ($1::int[])';
const clock = (column: string): string => `to_char(timezone($3, ${column}), 'HH24:MI')`;
/** Joins events at a moment to the shift that contains it. */
const during = (view: string, column: string): string =>
  `shift_sheet s join ${view} v on v.drive_id = s.drive_id and v.${column} >= s.starts_at and v.${column} < s.ends_at where ${OF_SHEETS}`;

const OF_SHIFT = extra<{ id: number }>({ id: 'shift_id' });
const OF_SHEET = extra<{ id: number }>({ id: 's.shift_id' });

const ACCEPTANCE = columnsOf(DailyShift, '', {
  countersignedClock: `to_char(timezone($3, countersigned_at), '${DAY_AND_TIME}')`,
}).only(
  'acceptance',
  'countersignedBy',
  'countersignedFor',
  'countersignedClock',
  'disputedBy',
  'disputeReason',
);

const STROKE = columnsOf(DailyStroke, '', {
  number: 'stroke_number',
  startedClock: clock('started_at'),
  endedClock: clock('ended_at'),
  boringSeconds: 'round(boring_seconds, 3)',
});

const STOP = columnsOf(DailyStop, '', {
  startedClock: clock('started_at'),
  endedClock: clock('ended_at'),
  cause: 'description',
  party: 'responsible_party',
  equipment: 'equipment_code',
});

export const OF_EACH_SHIFT = {
  figures: sql`select ${extra<{ id: number }>({ id: 'a.shift_id' })}, ${columnsOf(DailyShift, 'a').only(...ADVANCE)}
    from shift_advance a where ${OF_SHIFTS}`,
  acceptance: sql`select ${OF_SHIFT}, ${ACCEPTANCE}
    from shift_acceptance where ${OF_SHIFTS}`,
  quarters: sql`select ${OF_SHIFT}, ${columnsOf(DailyQuarter, '', { startsLocal: clock('starts_at') })}
    from shift_quarter_hour where ${OF_SHIFTS} order by shift_id, quarter, first_at nulls last`,
  times: sql`select ${OF_SHIFT}, ${columnsOf(DailyTime)}
    from shift_time_class where ${OF_SHIFTS} order by shift_id, counts_as nulls last`,
  strokes: sql`select ${OF_SHIFT}, ${STROKE}
    from shift_stroke where ${OF_SHIFTS} order by shift_id, from_m`,
  stops: sql`select ${OF_SHIFT}, ${STOP}
    from shift_activity where ${OF_SHIFTS} and counts_as not in ('boring', 'regripping') order by shift_id, started_at`,
  support: sql`select ${OF_SHIFT}, ${columnsOf(DailySupport, '', { item: 'item_code', remarks: `coalesce(remarks, '{}')` })}
    from shift_support where ${OF_SHIFTS} order by shift_id, zone, item_code`,
  ground: sql`select ${OF_SHIFT}, ${columnsOf(DailyGround)}
    from ground where ${OF_SHIFTS} order by shift_id, from_m`,
  groundLogs: sql`select ${OF_SHEET}, ${columnsOf(DailyGroundLog, 'v')}
    from ${during('ground_log', 'mapped_at')} order by s.shift_id, v.mapped_at, v.name`,
  probeHoles: sql`select ${OF_SHIFT}, ${columnsOf(DailyProbeHole, '', { drilledClock: clock('drilled_at') })}
    from shift_probe_hole where ${OF_SHIFTS} order by shift_id, drilled_at, name`,
  water: `select * from (
      select s.shift_id as id, v.name, v.measured_at as "measuredAt", ${clock('v.measured_at')} as "measuredClock", v.place, chainage_text(v.from_chainage_m) as from,
        chainage_text(v.to_chainage_m) as to, v.hole, v.method, v.inflow_l_per_min::text as "inflowLPerMin", null as "representativeLu", null as "lugeonClass", v.remark
      from ${during('inflow', 'measured_at')}
      union all
      select s.shift_id, v.name, v.tested_at, ${clock('v.tested_at')}, null, chainage_text(v.collar_chainage_m), null, v.hole, null, null,
        v.representative_lu::text, v.lugeon_class, v.remark
      from ${during('water_test', 'tested_at')}
    ) w order by id, "measuredAt", name`,
  grouting: sql`select ${OF_SHIFT}, ${columnsOf(DailyGrouting)}
    from shift_grouting where ${OF_SHIFTS} order by shift_id, last_done_at, name`,
  alerts: sql`select ${OF_SHEET}, ${alertColumns('v', '$3')}
    from ${during('alert_register', 'raised_at')} order by s.shift_id, v.number`,
  photos: sql`select ${OF_SHEET}, ${columnsOf(DailyPhoto, 'v')}
    from shift_sheet s join attachment v on v.drive_id = s.drive_id and v.shift_date = s.shift_date and v.shift_name = s.shift_name
    where ${OF_SHEETS} order by s.shift_id, v.number`,
} as const;
