import type { Plane } from './orientation.js';
import { type QCounted, type QEnds, qRange } from './q-range.js';
import { type QFactors, type QLocation, qClass, qValue } from './q-system.js';
import { adjusted, type Adjustment } from './rating-tables/adjust.js';
import { CURRENT_RMR, qEdition, rmrEdition } from './rating-tables/editions.js';
import { Q_TABLES, type QEdition, type QTable } from './rating-tables/tables.js';
import { rmrClass, type RmrInputs, rmrRatings, rmrTotal } from './rmr.js';
import { strengthClass } from './rock-strength.js';
import { type OrientationProposal, proposedOrientation } from './strike-and-dip.js';

/** A row with its value at an end of the range of an input of Q, as stored. */
export interface StoredChoice {
  row: string;
  /** decimal text */
  value: string;
  adjustment?: Adjustment;
}

/** The lowest and highest values of the inputs of Q, as stored. */
export type StoredRange = Partial<Record<`${QTable}${'Min' | 'Max'}`, StoredChoice>> &
  Partial<Record<`rqd${'Min' | 'Max'}Percent`, number>>;

/** The inputs of a ground log on which its stored values depend; null: not recorded, or not rated. */
export interface GroundLogInputs {
  ucsMpa: number | null;
  pointLoadMpa: number | null;
  rqdPercent: number | null;
  jointSpacingM: number | null;
  waterInflowLPerMinPer10m: number | null;
  waterPressureRatio: number | null;
  waterState: string | null;
  qEdition: string | null;
  qLocation: QLocation | null;
  qJn: number | null;
  qJr: number | null;
  qJrSpacingAbove3m: boolean | null;
  qJa: number | null;
  qJw: number | null;
  qSrf: number | null;
  qJwRow: string | null;
  qJwAdjustment: Adjustment | null;
  qSrfRow: string | null;
  qSrfAdjustment: Adjustment | null;
  qRange: StoredRange | null;
  driveAzimuthDeg: number | null;
  jointDipDeg: number | null;
  jointDipDirectionDeg: number | null;
  rmrEdition: string | null;
  rmrStrengthBy: 'ucs' | 'point_load' | null;
  rmrCondition: string | null;
  rmrPersistenceM: number | null;
  rmrApertureMm: number | null;
  rmrRoughness: string | null;
  rmrInfilling: string | null;
  rmrWeathering: string | null;
  rmrGroundwaterBy: 'inflow' | 'pressure_ratio' | 'state' | null;
  rmrOrientation: string | null;
}

/** The values stored with a ground log; null where it is not rated. */
export interface GroundLogValues {
  strengthClass: string | null;
  q: number | null;
  qClass: string | null;
  qRqdPercent: number | null;
  qJnCounted: number | null;
  qJrCounted: number | null;
  qJwCounted: number | null;
  qSrfCounted: number | null;
  qLowest: number | null;
  qLowestClass: string | null;
  qLowestOf: QCounted | null;
  qHighest: number | null;
  qHighestClass: string | null;
  qHighestOf: QCounted | null;
  orientationProposal: OrientationProposal | null;
  rmrStrengthRating: number | null;
  rmrRqdRating: number | null;
  rmrSpacingRating: number | null;
  rmrConditionRating: number | null;
  rmrGroundwaterRating: number | null;
  rmrOrientationRating: number | null;
  rmr: number | null;
  rmrClass: string | null;
}

type Values<Prefix extends string> = Pick<
  GroundLogValues,
  Extract<keyof GroundLogValues, `${Prefix}${string}`>
>;

/** A figure that the rating needs. @throws RangeError naming it when it is absent */
const needed = <T>(name: string, value: T | null): T => {
  if (value === null) throw new RangeError(`${name} is absent; the rating needs it.`);
  return value;
};

const Q_UNRATED: Values<'q'> = {
  q: null,
  qClass: null,
  qRqdPercent: null,
  qJnCounted: null,
  qJrCounted: null,
  qJwCounted: null,
  qSrfCounted: null,
  qLowest: null,
  qLowestClass: null,
  qLowestOf: null,
  qHighest: null,
  qHighestClass: null,
  qHighestOf: null,
};

/** The effective value of a row. @throws RangeError when its adjustment does not fit */
const countedValue = (
  edition: QEdition,
  table: QTable,
  row: string,
  value: number,
  given: Adjustment | null | undefined,
): number => {
  if (!given) return value;
  const result = adjusted(edition.tables[table], row, value, given);
  if ('fault' in result) throw new RangeError(result.fault);
  return result.counted;
};

/** The effective ends of the inputs of Q, before location and spacing. */
export const countedEnds = (
  edition: QEdition,
  { rqdMinPercent, rqdMaxPercent, ...ends }: StoredRange,
): QEnds => {
  const counted: QEnds = {
    ...(rqdMinPercent === undefined ? {} : { rqdMinPercent }),
    ...(rqdMaxPercent === undefined ? {} : { rqdMaxPercent }),
  };
  for (const table of Q_TABLES)
    for (const end of ['Min', 'Max'] as const) {
      const choice = ends[`${table}${end}`];
      if (choice)
        counted[`${table}${end}`] = countedValue(
          edition,
          table,
          choice.row,
          Number(choice.value),
          choice.adjustment,
        );
    }
  return counted;
};

const rangeValues = (edition: QEdition, typical: QFactors, range: StoredRange | null) => {
  if (range === null) return {};
  const { lowest, highest } = qRange(typical, countedEnds(edition, range));
  return {
    qLowest: lowest.q,
    qLowestClass: qClass(lowest.q, edition),
    qLowestOf: lowest.of,
    qHighest: highest.q,
    qHighestClass: qClass(highest.q, edition),
    qHighestOf: highest.of,
  };
};

const qValues = (inputs: GroundLogInputs): Values<'q'> => {
  if (inputs.qEdition === null) return Q_UNRATED;
  const edition = qEdition(inputs.qEdition);
  if (!edition) throw new RangeError(`qEdition is ${inputs.qEdition}; it must be an edition of Q.`);
  const jw = needed('qJw', inputs.qJw);
  const srf = needed('qSrf', inputs.qSrf);
  const typical: QFactors = {
    rqdPercent: needed('rqdPercent', inputs.rqdPercent),
    jn: needed('qJn', inputs.qJn),
    jr: needed('qJr', inputs.qJr),
    ja: needed('qJa', inputs.qJa),
    jw: countedValue(edition, 'jw', needed('qJwRow', inputs.qJwRow), jw, inputs.qJwAdjustment),
    srf: countedValue(edition, 'srf', needed('qSrfRow', inputs.qSrfRow), srf, inputs.qSrfAdjustment),
    location: needed('qLocation', inputs.qLocation),
    jrSpacingAbove3M: needed('qJrSpacingAbove3m', inputs.qJrSpacingAbove3m),
  };
  const { q, rqdPercent, jn, jr } = qValue(typical);
  return {
    ...Q_UNRATED,
    q,
    qClass: qClass(q, edition),
    qRqdPercent: rqdPercent,
    qJnCounted: jn,
    qJrCounted: jr,
    qJwCounted: typical.jw,
    qSrfCounted: typical.srf,
    ...rangeValues(edition, typical, inputs.qRange),
  };
};

const proposalOf = (inputs: GroundLogInputs): OrientationProposal | null => {
  const { driveAzimuthDeg, jointDipDeg, jointDipDirectionDeg } = inputs;
  if (driveAzimuthDeg === null || jointDipDeg === null || jointDipDirectionDeg === null) return null;
  const plane: Plane = { dipDeg: jointDipDeg, dipDirectionDeg: jointDipDirectionDeg };
  return proposedOrientation(plane, driveAzimuthDeg, CURRENT_RMR);
};

const strengthOf = (inputs: GroundLogInputs): RmrInputs['strength'] => {
  const by = needed('rmrStrengthBy', inputs.rmrStrengthBy);
  return {
    by,
    mpa: by === 'ucs' ? needed('ucsMpa', inputs.ucsMpa) : needed('pointLoadMpa', inputs.pointLoadMpa),
  };
};

const conditionOf = (inputs: GroundLogInputs): RmrInputs['condition'] =>
  inputs.rmrCondition ?? {
    persistenceM: needed('rmrPersistenceM', inputs.rmrPersistenceM),
    apertureMm: needed('rmrApertureMm', inputs.rmrApertureMm),
    roughness: needed('rmrRoughness', inputs.rmrRoughness),
    infilling: needed('rmrInfilling', inputs.rmrInfilling),
    weathering: needed('rmrWeathering', inputs.rmrWeathering),
  };

const groundwaterOf = (inputs: GroundLogInputs): RmrInputs['groundwater'] => {
  const by = needed('rmrGroundwaterBy', inputs.rmrGroundwaterBy);
  if (by === 'state') return { by, state: needed('waterState', inputs.waterState) };
  const figure =
    by === 'inflow'
      ? needed('waterInflowLPerMinPer10m', inputs.waterInflowLPerMinPer10m)
      : needed('waterPressureRatio', inputs.waterPressureRatio);
  return { by, figure };
};

const rmrValues = (inputs: GroundLogInputs): Values<'rmr'> => {
  if (inputs.rmrEdition === null)
    return {
      rmrStrengthRating: null,
      rmrRqdRating: null,
      rmrSpacingRating: null,
      rmrConditionRating: null,
      rmrGroundwaterRating: null,
      rmrOrientationRating: null,
      rmr: null,
      rmrClass: null,
    };
  const edition = rmrEdition(inputs.rmrEdition);
  if (!edition) throw new RangeError(`rmrEdition is ${inputs.rmrEdition}; it must be an edition of RMR.`);
  const ratings = rmrRatings(
    {
      strength: strengthOf(inputs),
      rqdPercent: needed('rqdPercent', inputs.rqdPercent),
      spacingM: needed('jointSpacingM', inputs.jointSpacingM),
      condition: conditionOf(inputs),
      groundwater: groundwaterOf(inputs),
      orientation: needed('rmrOrientation', inputs.rmrOrientation),
    },
    edition,
  );
  const rmr = rmrTotal(ratings);
  return {
    rmrStrengthRating: ratings.strength,
    rmrRqdRating: ratings.rqd,
    rmrSpacingRating: ratings.spacing,
    rmrConditionRating: ratings.condition,
    rmrGroundwaterRating: ratings.groundwater,
    rmrOrientationRating: ratings.orientation,
    rmr,
    rmrClass: rmrClass(rmr, edition),
  };
};

/**
 * The values stored with a ground log. Q and RMR are each rated by their own inputs, never one from the other.
 * @throws RangeError when an edition is not known, or a figure that a rating needs is absent or outside its range.
 */
export const groundLogValues = (inputs: GroundLogInputs): GroundLogValues => ({
  strengthClass: inputs.ucsMpa === null ? null : (strengthClass(inputs.ucsMpa) ?? null),
  ...qValues(inputs),
  orientationProposal: proposalOf(inputs),
  ...rmrValues(inputs),
});
