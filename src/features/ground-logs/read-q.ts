import type { Note } from '../../common/drive-interval.js';
import { chosen } from '../../engineering/rating-tables/choose.js';
import { qEdition, RATING_EDITIONS } from '../../engineering/rating-tables/editions.js';
import { Q_TABLES, type RatingEdition } from '../../engineering/rating-tables/tables.js';
import type { GroundLogInput } from './ground-log.models.js';
import type { QLocation } from './rating.models.js';

type Factor = 'Jn' | 'Jr' | 'Ja' | 'Jw' | 'Srf';
type Chosen = Record<`q${Factor}Row`, string | null> & Record<`q${Factor}`, number | null>;

export interface QColumns extends Chosen {
  qEdition: string | null;
  qLocation: QLocation | null;
  qJrSpacingAbove3m: boolean | null;
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
};

/** That an edition is not one of those a rating can take, in words. */
export const noEdition = (id: string, system: RatingEdition['system']): string => {
  const known = RATING_EDITIONS.filter((edition) => edition.system === system).map((edition) => edition.id);
  return `edition ${id} is not one of ${system.toUpperCase()}: there are ${known.join(', ')}`;
};

/** The inputs of Q as stored, their rows and values held to the tables of the edition. */
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
  for (const table of Q_TABLES) {
    const { row, value } = q[table];
    const choice = chosen(edition.tables[table], { row, value: value == null ? null : Number(value) });
    if ('fault' in choice) {
      note(`/q/${table}/${choice.at}`, choice.at === 'row' ? row : value, `${choice.fault} (${edition.id})`);
      continue;
    }
    const factor = `${table.charAt(0).toUpperCase()}${table.slice(1)}` as Factor;
    columns[`q${factor}Row`] = row;
    columns[`q${factor}`] = choice.value;
  }
  return columns;
};
