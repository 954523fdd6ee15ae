import type { Note } from '../../../common/drive-interval.js';
import type { StoredRange } from '../../../engineering/ground-log-values.js';
import type { Adjustment } from '../../../engineering/rating-tables/adjust.js';
import { qEdition, RATING_EDITIONS } from '../../../engineering/rating-tables/editions.js';
import { Q_TABLES, type QTable, type RatingEdition } from '../../../engineering/rating-tables/tables.js';
import type { GroundLogInput } from './ground-log.models.js';
import type { QLocation } from './rating.models.js';
import { type CountedChoice, readChoice } from './read-choice.js';
import { readRange } from './read-range.js';

type Factor = 'Jn' | 'Jr' | 'Ja' | 'Jw' | 'Srf';
type Chosen = Record<`q${Factor}Row`, string | null> & Record<`q${Factor}`, number | null>;

/** The factors that notes of the tables can adjust. */
const ADJUSTABLE = ['jw', 'srf'] as const satisfies readonly QTable[];

export interface QColumns extends Chosen {
  qEdition: string | null;
  qLocation: QLocation | null;
  qJrSpacingAbove3m: boolean | null;
  qJwAdjustment: Adjustment | null;
  qSrfAdjustment: Adjustment | null;
  qRange: StoredRange | null;
}

const UNRATED: QColumns = {
  qEdition: null,
  qLocation: null,
  qJrSpacingAbove3m: null,
  qJnRow: null,
  qJn: null,
  qJrRow: null,
  qJr: null,
  qJaRow: null,
  qJa: null,
  qJwRow: null,
  qJw: null,
  qSrfRow: null,
  qSrf: null,
  qJwAdjustment: null,
  qSrfAdjustment: null,
  qRange: null,
};

/** Message for an edition that a rating cannot use. */
export const noEdition = (id: string, system: RatingEdition['system']): string => {
  const known = RATING_EDITIONS.filter((edition) => edition.system === system).map((edition) => edition.id);
  return `edition ${id} is not an edition of ${system.toUpperCase()}; known are ${known.join(', ')}`;
};

/** The inputs of Q as stored, with rows and values checked against the tables of the edition. */
export const readQ = ({ q, rqdPercent }: GroundLogInput, note: Note): QColumns => {
  if (q == null) return UNRATED;
  if (rqdPercent == null) note('/rqdPercent', rqdPercent, 'rqdPercent is missing: Q needs the RQD');
  const edition = qEdition(q.edition);
  if (!edition) {
    note('/q/edition', q.edition, noEdition(q.edition, 'q'));
    return UNRATED;
  }
  const columns: QColumns = {
    ...UNRATED,
    qEdition: edition.id,
    qLocation: q.location,
    qJrSpacingAbove3m: q.jrSpacingAbove3M ?? false,
  };
  const typical: Partial<Record<QTable, CountedChoice>> = {};
  for (const table of Q_TABLES) {
    const choice = readChoice(edition, table, q[table], `/q/${table}`, note);
    if (!choice) continue;
    typical[table] = choice;
    const factor = `${table.charAt(0).toUpperCase()}${table.slice(1)}` as Factor;
    columns[`q${factor}Row`] = choice.row;
    columns[`q${factor}`] = choice.value;
  }
  for (const table of ADJUSTABLE)
    columns[table === 'jw' ? 'qJwAdjustment' : 'qSrfAdjustment'] = typical[table]?.adjustment ?? null;
  if (q.range) columns.qRange = readRange(edition, q.range, typical, rqdPercent, note);
  return columns;
};
