import { cursorBy } from '../../../common/api/cursor.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { GroundLog } from './ground-log.models.js';
import { RockMassOfInterval, RockMassShare, RockMassUsed } from './rock-mass.models.js';

const factor = (table: string, adjustment: string): string =>
  `'${table}', json_build_object('row', q_${table}_row, 'value', q_${table}::text, 'adjustment', ${adjustment})`;

const FACTORS = [
  factor('jn', 'null::jsonb'),
  factor('jr', 'null::jsonb'),
  factor('ja', 'null::jsonb'),
  factor('jw', 'q_jw_adjustment'),
  factor('srf', 'q_srf_adjustment'),
].join(', ');

const end = (name: string): string =>
  `'${name}', case when q_${name} is not null then json_build_object('q', q_${name}, 'qClass', q_${name}_class, 'of', q_${name}_of) end`;

const Q = `case when q is not null then json_build_object('edition', q_edition, 'location', q_location, ${FACTORS},
  'jrSpacingAbove3M', q_jr_spacing_above_3m, 'range', q_range, 'rqdPercent', q_rqd_percent, 'rqdRaised', q_rqd_percent > rqd_percent,
  'jnCounted', q_jn_counted, 'jrCounted', q_jr_counted, 'jwCounted', q_jw_counted, 'srfCounted', q_srf_counted, 'q', q, 'qClass', q_class,
  ${end('lowest')}, ${end('highest')}) end`;

const DETAILED = `case when rmr_condition is null then json_build_object('persistenceM', rmr_persistence_m, 'apertureMm', rmr_aperture_mm,
  'roughness', rmr_roughness, 'infilling', rmr_infilling, 'weathering', rmr_weathering) end`;

const RMR = `case when rmr is not null then json_build_object('edition', rmr_edition, 'strengthBy', rmr_strength_by, 'condition', rmr_condition,
  'detailedCondition', ${DETAILED}, 'groundwaterBy', rmr_groundwater_by, 'orientation', rmr_orientation,
  'strengthRating', rmr_strength_rating, 'rqdRating', rmr_rqd_rating, 'spacingRating', rmr_spacing_rating,
  'conditionRating', rmr_condition_rating, 'groundwaterRating', rmr_groundwater_rating, 'orientationRating', rmr_orientation_rating,
  'rmr', rmr, 'rmrWithoutOrientation', rmr_without_orientation, 'rmrClass', rmr_class) end`;

const GOVERNING = `case when governing_state is not null then json_build_object('state', governing_state, 'reason', governing_reason,
    'proposedBy', governing_proposed_by, 'proposedAt', governing_proposed_at, 'agreedBy', governing_agreed_by, 'agreedAt', governing_agreed_at,
    'proposedFor', governing_proposed_for, 'agreedFor', governing_agreed_for,
    'signatures', signed_by(governing_proposed_for, governing_agreed_for, governing_agreed_by is not null)) end`;

const JOINT_ORIENTATION = `case when joint_dip_deg is not null then json_build_object('dipDeg', joint_dip_deg, 'dipDirectionDeg', joint_dip_direction_deg,
    'driveAzimuthDeg', drive_azimuth_deg) end`;

export const GROUND_LOG_COLUMNS = columnsOf(GroundLog, '', {
  jointOrientation: { as: JOINT_ORIENTATION },
  waterInflowLPerMinPer10M: 'water_inflow_l_per_min_per_10m',
  governing: { as: GOVERNING },
  q: { as: Q },
  rmr: { as: RMR },
});

export const GROUND_LOG = sql`select ${GROUND_LOG_COLUMNS} from ground_log where drive_id = $1 and name = $2`;

export const NAMED_GROUND_LOGS = sql`select ${GROUND_LOG_COLUMNS} from ground_log where drive_id = $1 and name = any($2)`;

/** Logs that touch [$2, $3), after the one named $5 that begins at $4; $6: how many. */
export const GROUND_LOGS = sql`select ${GROUND_LOG_COLUMNS}, ${cursorBy({ metres: 'from_m' }, 'name')} from ground_log where drive_id = $1 and to_m > $2::numeric and from_m < $3::numeric
  and (from_m, name) > ($4::numeric, $5::text) order by from_m, name limit $6`;

/** Other logs of the same face $5 and party $6 that overlap [$3, $4). */
export const OTHERS_MET = `select name, (from_m * 1000)::int as "fromMm", (to_m * 1000)::int as "toMm" from ground_log_sheet
  where drive_id = $1 and name <> $2 and from_m < $4::numeric and to_m > $3::numeric and mapped_place = $5
  and mapped_for is not distinct from $6::text order by from_m limit 10`;

const IN_ORDER = `rating, array_position(array['rated', 'not_rated', 'not_logged'], coverage), lowest desc, class`;

export const ROCK_MASS_BY_DRIVE = sql`select ${columnsOf(RockMassShare)} from rock_mass_by_drive where drive_id = $1 order by ${IN_ORDER}`;

export const ROCK_MASS_BY_INTERVAL = sql`select ${columnsOf(RockMassOfInterval)}
  from rock_mass_in_intervals($1, $2, $3::numeric) order by from_m, ${IN_ORDER}`;

/** The rating that counts at the driven metre $2. */
export const USED_AT = sql`select ${columnsOf(RockMassUsed, '', { log: 'name', basis: `coalesce(basis, 'not_rated')` })}
  from ground_log_used_of($1, $2::numeric, $2::numeric + 0.001) where from_m <= $2::numeric and to_m > $2::numeric order by rating`;

export const LOGS_AT = sql`select ${GROUND_LOG_COLUMNS} from ground_log where drive_id = $1 and from_m <= $2::numeric and to_m > $2::numeric order by name`;
