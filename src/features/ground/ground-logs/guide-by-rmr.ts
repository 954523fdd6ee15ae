import { gsiFromJCond89, gsiFromRmr89 } from '../../../engineering/gsi.js';
import { CURRENT_RMR } from '../../../engineering/rating-tables/editions.js';
import {
  BIENIAWSKI_SPREAD,
  qFromRmrBarton,
  qFromRmrBieniawski,
} from '../../../engineering/rock-mass-correlations.js';
import { rmrWithoutOrientation } from '../../../engineering/rmr.js';
import type { GroundLog } from './ground-log.models.js';
import { MACHINE_CAUTION } from './guide-by-span.js';
import type { RmrRating } from './rating.models.js';
import type { GuideFigure } from './support-guide.models.js';

export const SCATTER =
  'Q and RMR are two ratings: for one rock they differ by tens of points. For comparison, never for the record.';
export const WITHOUT_ORIENTATION = 'RMR here is that without orientation (R6 = 0).';
export const NO_SPREAD =
  'No spread of this line was found; that of RMR = 9 · ln Q + 44 is about ±18 points of RMR.';

const gsiBy = (rating: RmrRating, rqdPercent: number): GuideFigure[] => {
  const { strengthRating, rqdRating, spacingRating, conditionRating, edition } = rating;
  const gsi = gsiFromRmr89({
    strength: strengthRating,
    rqd: rqdRating,
    spacing: spacingRating,
    condition: conditionRating,
  });
  return [
    {
      figure: 'gsi_from_rmr89',
      value: gsi,
      unit: '-',
      formula: 'GSI = RMR89 − 5, with R5 = 15 and R6 = 0; for RMR89 above 23',
      inputs: `R1 ${strengthRating}, R2 ${rqdRating}, R3 ${spacingRating}, R4 ${conditionRating}`,
      edition,
      source: 'Hoek, Kaiser and Bawden 1995',
      mark: 'transcribed',
      ...(gsi === undefined ? { remark: 'No answer: RMR89 with R5 = 15 and R6 = 0 is not above 23.' } : {}),
    },
    {
      figure: 'gsi_from_jcond89',
      value: gsiFromJCond89(conditionRating, rqdPercent),
      unit: '-',
      formula: 'GSI = 1.5 · JCond89 + RQD / 2, JCond89 = R4',
      inputs: `R4 ${conditionRating}, RQD ${rqdPercent} %`,
      edition,
      source: 'Hoek, Carter and Diederichs 2013',
      mark: 'transcribed',
    },
  ];
};

const supportOf = ({ rmr, rmrClass }: RmrRating): GuideFigure => {
  const { id, tables } = CURRENT_RMR;
  const guide = tables.support_guide;
  const row = guide.rows.find((candidate) => candidate.row === rmrClass);
  return {
    figure: 'rmr_support_guide',
    text: row?.description,
    support: row?.support,
    formula: guide.title,
    inputs: `RMR ${rmr}, class ${rmrClass}`,
    edition: id,
    source: guide.source,
    mark: guide.mark,
    remark: guide.rule,
    caution: MACHINE_CAUTION,
  };
};

const correlated = ({ rmr, orientationRating, edition }: RmrRating): GuideFigure[] => {
  const basic = rmrWithoutOrientation(rmr, orientationRating);
  const inputs = `RMR ${basic} without orientation: ${rmr} with R6 ${orientationRating}`;
  return [
    {
      figure: 'q_from_rmr_bieniawski',
      value: qFromRmrBieniawski(basic),
      unit: '-',
      spread: BIENIAWSKI_SPREAD,
      lowest: qFromRmrBieniawski(basic - BIENIAWSKI_SPREAD),
      highest: qFromRmrBieniawski(basic + BIENIAWSKI_SPREAD),
      formula: 'Q = e^((RMR − 44) / 9), RMR without orientation (R6 = 0)',
      inputs,
      edition,
      source: 'Bieniawski 1976, in Palmström 2009; the spread from memory',
      mark: 'read',
      remark: `${WITHOUT_ORIENTATION} ${SCATTER}`,
    },
    {
      figure: 'q_from_rmr_barton',
      value: qFromRmrBarton(basic),
      unit: '-',
      formula: 'Q = 10^((RMR − 50) / 15), RMR without orientation (R6 = 0)',
      inputs,
      edition,
      source: 'Barton 1995',
      mark: 'memory',
      remark: `${NO_SPREAD} ${WITHOUT_ORIENTATION} ${SCATTER}`,
    },
  ];
};

/** The figures that can be derived from the RMR of a log. */
export const byRmr = ({ rmr: rating, rqdPercent }: GroundLog): GuideFigure[] =>
  rating
    ? [supportOf(rating), ...(rqdPercent == null ? [] : gsiBy(rating, rqdPercent)), ...correlated(rating)]
    : [];
