import { requireFinite, requireZeroOrMore } from './checks.js';
import { requireRqd } from './q-system.js';
import { bandOf, chosen, ratingOf } from './rating-tables/choose.js';
import type { RatingTable, RmrEdition } from './rating-tables/tables.js';

/** Condition of discontinuities by the detailed tables: measured values, and named rows. */
export interface DetailedCondition {
  /** Length of the discontinuities, ≥ 0. [m] */
  persistenceM: number;
  /** Aperture, 0 for closed. [mm] */
  apertureMm: number;
  roughness: string;
  infilling: string;
  weathering: string;
}

export interface RmrInputs {
  strength: { by: 'ucs' | 'point_load'; mpa: number };
  /** [%] */
  rqdPercent: number;
  /** [m] */
  spacingM: number;
  /** A row of the short table, or the detailed condition. */
  condition: string | DetailedCondition;
  groundwater: { by: 'inflow' | 'pressure_ratio'; figure: number } | { by: 'state'; state: string };
  orientation: string;
}

export interface RmrRatings {
  strength: number;
  rqd: number;
  spacing: number;
  condition: number;
  groundwater: number;
  /** ≤ 0 */
  orientation: number;
}

const rated = (table: RatingTable, figure: number): number => {
  requireZeroOrMore({ [table.id]: figure });
  const rating = ratingOf(table, figure);
  if (rating === undefined) throw new RangeError(`${table.id} is ${figure}; the table has no rating for it.`);
  return rating;
};

const named = (table: RatingTable, row: string): number => {
  const choice = chosen(table, { row });
  if ('fault' in choice) throw new RangeError(choice.fault);
  return choice.value;
};

/** Above this aperture or thickness of soft filling, the detailed rows of R4 exclude each other. [mm] */
const MASKED_ABOVE_MM = 5;

/**
 * Why a condition must not be rated by the detailed tables, in words; undefined: it may be.
 * Source: Bieniawski 1989, note to the detailed table; memory. Soft filling below 5 mm may be rated by either, as in the
 * transcribed examples.
 */
export const detailedConditionFault = ({ apertureMm, infilling }: DetailedCondition): string | undefined => {
  if (apertureMm > MASKED_ABOVE_MM)
    return `an aperture of ${apertureMm} mm is above 5 mm: roughness is masked, use the short table`;
  if (infilling === 'soft_above_5mm')
    return 'infilling is soft and above 5 mm: roughness is masked, use the short table';
  return undefined;
};

/**
 * R4 by the detailed tables: the sum of persistence, aperture, roughness, infilling and weathering, 0 to 30. [-]
 * @throws RangeError when a figure is negative or a row is not in its table.
 * Source: Bieniawski 1989; transcribed.
 */
export const detailedConditionRating = (condition: DetailedCondition, { tables }: RmrEdition): number =>
  rated(tables.persistence, condition.persistenceM) +
  rated(tables.aperture, condition.apertureMm) +
  named(tables.roughness, condition.roughness) +
  named(tables.infilling, condition.infilling) +
  named(tables.weathering, condition.weathering);

/**
 * The six ratings of the Rock Mass Rating. [-]
 * @param inputs   measured values and chosen rows
 * @param edition  whose tables are used
 * @throws RangeError when a figure is outside its range, or a row is not in its table.
 * Source: Bieniawski 1989; transcribed.
 */
export const rmrRatings = (inputs: RmrInputs, edition: RmrEdition): RmrRatings => {
  const { strength, rqdPercent, spacingM, condition, groundwater, orientation } = inputs;
  const { tables } = edition;
  requireRqd(rqdPercent);
  return {
    strength: rated(tables[`strength_${strength.by}`], strength.mpa),
    rqd: rated(tables.rqd, rqdPercent),
    spacing: rated(tables.spacing, spacingM),
    condition:
      typeof condition === 'string'
        ? named(tables.condition_short, condition)
        : detailedConditionRating(condition, edition),
    groundwater:
      groundwater.by === 'state'
        ? named(tables.groundwater_state, groundwater.state)
        : rated(tables[`groundwater_${groundwater.by}`], groundwater.figure),
    orientation: named(tables.orientation, orientation),
  };
};

/**
 * RMR, the sum of the six ratings. [-]
 * Published as 0 to 100; the worst ratings sum to −4, which is shown as it is.
 * Source: Bieniawski 1989; transcribed.
 */
export const rmrTotal = (ratings: RmrRatings): number =>
  ratings.strength +
  ratings.rqd +
  ratings.spacing +
  ratings.condition +
  ratings.groundwater +
  ratings.orientation;

/**
 * RMR without orientation (R6 = 0), on which correlations with Q are based. [-]
 * @param rmr          the sum of the six ratings [-]
 * @param orientation  R6, ≤ 0 [-]
 * @throws RangeError when one is not finite.
 * Source: by definition.
 */
export const rmrWithoutOrientation = (rmr: number, orientation: number): number => {
  requireFinite({ rmr, orientation });
  return rmr - orientation;
};

/**
 * Class I to V of an RMR. A fractional RMR belongs to the class whose lower bound it reaches: 80.4 is II.
 * @param rmr      Rock Mass Rating [-]
 * @param edition  that defines the classes
 * @throws RangeError when it is not finite.
 */
export const rmrClass = (rmr: number, { tables }: Pick<RmrEdition, 'tables'>): string => {
  requireFinite({ rmr });
  return bandOf(tables.classes, rmr)?.row ?? '';
};
