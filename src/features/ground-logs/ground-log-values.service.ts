import { Injectable } from '@nestjs/common';
import { Database, readRows } from '../../common/database/database.js';
import { type GroundLogInputs, groundLogValues } from '../../engineering/ground-log-values.js';

const INPUTS = `select id, ucs_mpa as "ucsMpa", point_load_mpa as "pointLoadMpa", rqd_percent as "rqdPercent", joint_spacing_m as "jointSpacingM",
  water_inflow_l_per_min_per_10m as "waterInflowLPerMinPer10m", water_pressure_ratio as "waterPressureRatio", water_state as "waterState",
  q_edition as "qEdition", q_location as "qLocation", q_jn as "qJn", q_jr as "qJr", q_jr_spacing_above_3m as "qJrSpacingAbove3m",
  q_ja as "qJa", q_jw as "qJw", q_srf as "qSrf", rmr_edition as "rmrEdition", rmr_strength_by as "rmrStrengthBy", rmr_condition as "rmrCondition",
  rmr_persistence_m as "rmrPersistenceM", rmr_aperture_mm as "rmrApertureMm", rmr_roughness as "rmrRoughness", rmr_infilling as "rmrInfilling",
  rmr_weathering as "rmrWeathering", rmr_groundwater_by as "rmrGroundwaterBy", rmr_orientation as "rmrOrientation"
  from ground_log_sheet order by id for no key update`;

const STORED = `strength_class, q, q_class, q_rqd_percent, q_jn_counted, q_jr_counted, rmr_strength_rating, rmr_rqd_rating, rmr_spacing_rating,
  rmr_condition_rating, rmr_groundwater_rating, rmr_orientation_rating, rmr, rmr_class`;
const COMPUTED = `v."strengthClass", v.q, v."qClass", v."qRqdPercent", v."qJnCounted", v."qJrCounted", v."rmrStrengthRating", v."rmrRqdRating",
  v."rmrSpacingRating", v."rmrConditionRating", v."rmrGroundwaterRating", v."rmrOrientationRating", v.rmr, v."rmrClass"`;

const STORE = `update ground_log_sheet l set (${STORED}) = row(${COMPUTED})
  from jsonb_to_recordset($1::jsonb) as v(id int, "strengthClass" text, q float8, "qClass" text, "qRqdPercent" float8, "qJnCounted" float8,
    "qJrCounted" float8, "rmrStrengthRating" smallint, "rmrRqdRating" smallint, "rmrSpacingRating" smallint, "rmrConditionRating" smallint,
    "rmrGroundwaterRating" smallint, "rmrOrientationRating" smallint, rmr smallint, "rmrClass" text)
  where l.id = v.id and (${STORED.replace(/\w+/g, (column) => `l.${column}`)}) is distinct from (${COMPUTED})`;

/** Keeps the values stored with the ground logs true to their inputs. */
@Injectable()
export class GroundLogValuesService {
  constructor(private readonly database: Database) {}

  /** Computes the values of all ground logs of the project in scope anew. @returns how many logs changed */
  rebuildAll(): Promise<number> {
    return this.database.atomic(async (transaction) => {
      const logs = await readRows<GroundLogInputs & { id: number }>(transaction, INPUTS);
      if (logs.length === 0) return 0;
      const values = logs.map(({ id, ...inputs }) => ({ id, ...groundLogValues(inputs) }));
      return transaction.$executeRawUnsafe(STORE, JSON.stringify(values));
    });
  }
}
