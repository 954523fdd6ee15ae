import { latestOf, qEdition } from '../../../engineering/rating-tables/editions.js';
import { detailedConditionFault } from '../../../engineering/rmr.js';
import type { GroundLog } from './ground-log.models.js';
import type { QRating, RmrRating } from './rating.models.js';

const friction = ({ edition: id, ja }: QRating): Pick<QRating, 'frictionMinDeg' | 'frictionMaxDeg'> => {
  const edition = qEdition(id);
  const row = edition && latestOf(edition).tables.ja.rows.find((candidate) => candidate.row === ja.row);
  return row?.frictionMinDeg === undefined
    ? {}
    : { frictionMinDeg: row.frictionMinDeg, frictionMaxDeg: row.frictionMaxDeg };
};

const condition = ({ detailedCondition }: RmrRating): Pick<RmrRating, 'conditionFault'> => {
  const conditionFault = detailedCondition ? detailedConditionFault(detailedCondition) : undefined;
  return conditionFault === undefined ? {} : { conditionFault };
};

/** A log with notes from the tables: φr with Ja, and whether R4 may be rated by the detailed rows. */
export const withTableNotes = <T extends GroundLog>(log: T): T => ({
  ...log,
  q: log.q && { ...log.q, ...friction(log.q) },
  rmr: log.rmr && { ...log.rmr, ...condition(log.rmr) },
});
