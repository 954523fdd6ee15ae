import type { Note } from '../../../common/drive-interval.js';
import { adjusted, type Adjustment } from '../../../engineering/rating-tables/adjust.js';
import { chosen } from '../../../engineering/rating-tables/choose.js';
import type { QEdition, QTable } from '../../../engineering/rating-tables/tables.js';
import type { RatingAdjustment, RatingChoice } from './rating.models.js';

/** A choice with the value of its row and its effective value. */
export interface CountedChoice {
  row: string;
  value: number;
  adjustment?: Adjustment;
  counted: number;
}

/** Only the properties that were given. */
const said = ({ name, percent, value, stressRatio, strengthRatio, note }: RatingAdjustment): Adjustment => ({
  name,
  ...(percent == null ? {} : { percent }),
  ...(value == null ? {} : { value }),
  ...(stressRatio == null ? {} : { stressRatio }),
  ...(strengthRatio == null ? {} : { strengthRatio }),
  note,
});

/** A choice checked against its table, its row and its adjustment; undefined after a fault was reported. */
export const readChoice = (
  edition: QEdition,
  table: QTable,
  { row, value, adjustment: given }: RatingChoice,
  pointer: string,
  note: Note,
): CountedChoice | undefined => {
  const choice = chosen(edition.tables[table], { row, value: value == null ? null : Number(value) });
  if ('fault' in choice) {
    note(`${pointer}/${choice.at}`, choice.at === 'row' ? row : value, `${choice.fault} (${edition.id})`);
    return undefined;
  }
  if (given == null) return { row, value: choice.value, counted: choice.value };
  const adjustment = said(given);
  const result = adjusted(edition.tables[table], row, choice.value, adjustment);
  if ('fault' in result) {
    note(`${pointer}/adjustment/${result.at}`, given[result.at], `${result.fault} (${edition.id})`);
    return undefined;
  }
  return { row, value: choice.value, adjustment, counted: result.counted };
};
