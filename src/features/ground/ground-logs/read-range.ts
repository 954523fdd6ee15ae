import type { Note } from '../../../common/drive-interval.js';
import type { StoredRange } from '../../../engineering/ground-log-values.js';
import { Q_TABLES, type QEdition, type QTable } from '../../../engineering/rating-tables/tables.js';
import type { QRange } from './rating.models.js';
import { type CountedChoice, readChoice } from './read-choice.js';

const ENDS = ['Min', 'Max'] as const;
type End = (typeof ENDS)[number];

/** Message for an end on the wrong side of the typical value; undefined: it is on the right side. */
const crossed = (name: string, end: End, value: number, typical: number): string | undefined => {
  if (end === 'Min' ? value <= typical : value >= typical) return undefined;
  return `${name} ${value} is ${end === 'Min' ? 'above' : 'below'} the typical ${typical}: least ≤ typical ≤ greatest, as they count`;
};

/** The range of the inputs of Q as stored; each end is checked against its table and must lie on its side of the typical value. */
export const readRange = (
  edition: QEdition,
  range: QRange,
  typical: Partial<Record<QTable, CountedChoice>>,
  rqdPercent: number | undefined,
  note: Note,
): StoredRange | null => {
  const stored: StoredRange = {};
  for (const end of ENDS) {
    const name = `rqd${end}Percent` as const;
    const percent = range[name];
    if (percent == null) continue;
    stored[name] = percent;
    const fault = rqdPercent == null ? undefined : crossed(name, end, percent, rqdPercent);
    if (fault) note(`/q/range/${name}`, percent, fault);
  }
  for (const table of Q_TABLES)
    for (const end of ENDS) {
      const name = `${table}${end}` as const;
      const given = range[name];
      const choice = given && readChoice(edition, table, given, `/q/range/${name}`, note);
      if (!choice) continue;
      const { row, value, adjustment, counted } = choice;
      stored[name] = { row, value: String(value), ...(adjustment ? { adjustment } : {}) };
      const fault = typical[table] && crossed(name, end, counted, typical[table].counted);
      if (fault) note(`/q/range/${name}`, given, fault);
    }
  return Object.keys(stored).length > 0 ? stored : null;
};
