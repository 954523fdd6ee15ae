import { Injectable } from '@nestjs/common';
import { Database, readRows } from '../../../common/database/database.js';
import {
  type GroundLogInputs,
  type GroundLogValues,
  groundLogValues,
} from '../../../engineering/ground-log-values.js';

const INPUTS = `select id, ucs_mpa as "ucsMpa", point_load_mpa as "pointLoadMpa", rqd_percent as "rqdPercent", joint_spacing_m as "jointSpacingM",
  water_inflow_l_per_min_per_10m as "waterInflowLPerMinPer10m", water_pressure_ratio as "waterPressureRatio", water_state as "waterState",
  q_edition as "qEdition", q_location as "qLocation", q_jn as "qJn", q_jr as "qJr", q_jr_spacing_above_3m as "qJrSpacingAbove3m",
  q_ja as "qJa", q_jw as "qJw", q_srf as "qSrf",
  q_jw_row as "qJwRow", q_jw_adjustment as "qJwAdjustment", q_srf_row as "qSrfRow", q_srf_adjustment as "qSrfAdjustment", q_range as "qRange",
  drive_azimuth_deg as "driveAzimuthDeg", joint_dip_deg as "jointDipDeg", joint_dip_direction_deg as "jointDipDirectionDeg",
  rmr_edition as "rmrEdition", rmr_strength_by as "rmrStrengthBy", rmr_condition as "rmrCondition",
  rmr_persistence_m as "rmrPersistenceM", rmr_aperture_mm as "rmrApertureMm", rmr_roughness as "rmrRoughness", rmr_infilling as "rmrInfilling",
  rmr_weathering as "rmrWeathering", rmr_groundwater_by as "rmrGroundwaterBy", rmr_orientation as "rmrOrientation"
  from ground_log_sheet order by id for no key update`;

/** The computed columns: column name, name of the value, type. */
const COLUMNS: readonly (readonly [string, keyof GroundLogValues, string])[] = [
  ['strength_class', 'strengthClass', 'text'],
  ['q', 'q', 'float8'],
  ['q_class', 'qClass', 'text'],
  ['q_rqd_percent', 'qRqdPercent', 'float8'],
  ['q_jn_counted', 'qJnCounted', 'float8'],
  ['q_jr_counted', 'qJrCounted', 'float8'],
  ['q_jw_counted', 'qJwCounted', 'float8'],
  ['q_srf_counted', 'qSrfCounted', 'float8'],
  ['q_lowest', 'qLowest', 'float8'],
  ['q_lowest_class', 'qLowestClass', 'text'],
  ['q_lowest_of', 'qLowestOf', 'jsonb'],
  ['q_highest', 'qHighest', 'float8'],
  ['q_highest_class', 'qHighestClass', 'text'],
  ['q_highest_of', 'qHighestOf', 'jsonb'],
  ['orientation_proposal', 'orientationProposal', 'jsonb'],
  ['rmr_strength_rating', 'rmrStrengthRating', 'smallint'],
  ['rmr_rqd_rating', 'rmrRqdRating', 'smallint'],
  ['rmr_spacing_rating', 'rmrSpacingRating', 'smallint'],
  ['rmr_condition_rating', 'rmrConditionRating', 'smallint'],
  ['rmr_groundwater_rating', 'rmrGroundwaterRating', 'smallint'],
  ['rmr_orientation_rating', 'rmrOrientationRating', 'smallint'],
  ['rmr', 'rmr', 'smallint'],
  ['rmr_class', 'rmrClass', 'text'],
];
const columns = (text: (column: string, value: string, type: string) => string): string =>
  COLUMNS.map(([column, value, type]) => text(column, value, type)).join(', ');
const COMPUTED = columns((_, value) => `v."${value}"`);

const STORE = `update ground_log_sheet l set (${columns((column) => column)}) = row(${COMPUTED})
  from jsonb_to_recordset($1::jsonb) as v(id int, ${columns((_, value, type) => `"${value}" ${type}`)})
  where l.id = v.id and (${columns((column) => `l.${column}`)}) is distinct from (${COMPUTED})`;

/** Keeps the values stored with ground logs consistent with their inputs. */
@Injectable()
export class GroundLogValuesService {
  constructor(private readonly database: Database) {}

  /** Recomputes the values of all ground logs of the project in scope. @returns how many logs changed */
  rebuildAll(): Promise<number> {
    return this.database.atomic(async (transaction) => {
      const logs = await readRows<GroundLogInputs & { id: number }>(transaction, INPUTS);
      if (logs.length === 0) return 0;
      const values = logs.map(({ id, ...inputs }) => ({ id, ...groundLogValues(inputs) }));
      return transaction.$executeRawUnsafe(STORE, JSON.stringify(values));
    });
  }
}
