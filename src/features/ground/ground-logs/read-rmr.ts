import { bandOf, chosen } from '../../../engineering/rating-tables/choose.js';
import { rmrEdition } from '../../../engineering/rating-tables/editions.js';
import type { RmrEdition, RmrTable } from '../../../engineering/rating-tables/tables.js';
import { detailedConditionFault } from '../../../engineering/rmr.js';
import type { GroundLogInput } from './ground-log.models.js';
import type { GroundwaterBy, RmrRatingInput, StrengthBy } from './rating.models.js';
import type { Note } from '../../../common/drive-interval.js';
import { noEdition } from './read-q.js';

export interface RmrColumns {
  rmrEdition: string | null;
  rmrStrengthBy: StrengthBy | null;
  rmrCondition: string | null;
  rmrPersistenceM: number | null;
  rmrApertureMm: number | null;
  rmrRoughness: string | null;
  rmrInfilling: string | null;
  rmrWeathering: string | null;
  rmrGroundwaterBy: GroundwaterBy | null;
  rmrOrientation: string | null;
}

const UNRATED: RmrColumns = {
  rmrEdition: null,
  rmrStrengthBy: null,
  rmrCondition: null,
  rmrPersistenceM: null,
  rmrApertureMm: null,
  rmrRoughness: null,
  rmrInfilling: null,
  rmrWeathering: null,
  rmrGroundwaterBy: null,
  rmrOrientation: null,
};

const STRENGTH_FIELDS = { ucs: 'ucsMpa', point_load: 'pointLoadMpa' } as const;
const WATER_FIELDS = {
  inflow: 'waterInflowLPerMinPer10M',
  pressure_ratio: 'waterPressureRatio',
  state: 'waterState',
} as const;

/** Checks that the measurements that the rating needs are in the log and covered by the tables. */
const assertMeasures = (
  input: GroundLogInput,
  rmr: RmrRatingInput,
  { tables }: RmrEdition,
  note: Note,
): void => {
  const strength = STRENGTH_FIELDS[rmr.strengthBy];
  const needs = [strength, 'rqdPercent', 'jointSpacingM', WATER_FIELDS[rmr.groundwaterBy]] as const;
  for (const field of needs)
    if (input[field] == null)
      note(`/${field}`, input[field], `${field} is missing: RMR as asked for needs it`);
  const table = tables[`strength_${rmr.strengthBy}`];
  const mpa = input[strength];
  if (mpa != null && !bandOf(table, mpa))
    note(
      `/${strength}`,
      mpa,
      `${strength} ${mpa} has no rating in ${table.id}, which begins at ${table.rows[0]?.from} MPa: rate the strength by UCS`,
    );
};

/** The inputs of RMR as stored, with rows checked against the tables of the edition. */
export const readRmr = (input: GroundLogInput, note: Note): RmrColumns => {
  const { rmr } = input;
  if (rmr == null) return UNRATED;
  const edition = rmrEdition(rmr.edition);
  if (!edition) {
    note('/rmr/edition', rmr.edition, noEdition(rmr.edition, 'rmr'));
    return UNRATED;
  }
  assertMeasures(input, rmr, edition, note);
  const row = (table: RmrTable, pointer: string, name: string): string => {
    const choice = chosen(edition.tables[table], { row: name });
    if ('fault' in choice) note(`/rmr/${pointer}`, name, `${choice.fault} (${edition.id})`);
    return name;
  };
  const { condition, detailedCondition: detailed } = rmr;
  if ((condition == null) === (detailed == null))
    note(
      '/rmr/condition',
      condition,
      condition == null
        ? 'the condition is missing: give a row of the short table, or detailedCondition'
        : 'the condition is given twice: give a row of the short table or detailedCondition, not both',
    );
  const excluded = detailed && detailedConditionFault(detailed);
  if (excluded) note('/rmr/detailedCondition', detailed, excluded);
  return {
    rmrEdition: edition.id,
    rmrStrengthBy: rmr.strengthBy,
    rmrCondition: condition == null ? null : row('condition_short', 'condition', condition),
    rmrPersistenceM: detailed?.persistenceM ?? null,
    rmrApertureMm: detailed?.apertureMm ?? null,
    rmrRoughness: detailed ? row('roughness', 'detailedCondition/roughness', detailed.roughness) : null,
    rmrInfilling: detailed ? row('infilling', 'detailedCondition/infilling', detailed.infilling) : null,
    rmrWeathering: detailed ? row('weathering', 'detailedCondition/weathering', detailed.weathering) : null,
    rmrGroundwaterBy: rmr.groundwaterBy,
    rmrOrientation: row('orientation', 'orientation', rmr.orientation),
  };
};
