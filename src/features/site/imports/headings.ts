import type { CellType } from '../../../common/files/table/canonical.js';
import { tidyUnit, unitFactor } from '../../../common/files/table/units.js';

/** What reading a table needs to know of a column. */
export interface ReadColumn {
  field: string;
  type: CellType;
  unit?: string;
  isKey: boolean;
  /** each member of a record needs it */
  isOfMember?: boolean;
  /** it is only compared with existing records: a formula without a stored value counts as empty */
  isHeld?: boolean;
  /** it is known but not read */
  isPassedOver?: boolean;
}

/** The column of a table from which a field is read, and the conversion of its numbers. */
export interface Source {
  field: string;
  /** its index among the headings; absent: every row has the value */
  place?: number;
  value?: string;
  factor: string;
  offset: string;
}

/** Words for comparison: without case, blanks, hyphens and underscores. */
const compared = (text: string): string => text.toLowerCase().replaceAll(/[^a-z0-9.°%]/g, '');

/** The form of a unit at the end of a name: dipDeg, lengthM, flowLPerMin. */
const suffixOf = (unit: string): string =>
  compared(
    tidyUnit(unit)
      .replaceAll('/', 'per')
      .replaceAll('²', '2')
      .replaceAll('³', '3')
      .replace('°', 'deg')
      .replace('%', 'percent'),
  );

/** The name of a quantity without its unit: "dip" of dipDeg. */
const shortName = ({ field, unit }: ReadColumn): string | undefined => {
  const name = compared(field);
  const suffix = unit === undefined ? '' : suffixOf(unit);
  return suffix !== '' && name.endsWith(suffix) && name.length > suffix.length
    ? name.slice(0, -suffix.length)
    : undefined;
};

/** Splits a heading from the unit in brackets behind it: "Torque [MNm]". */
export const splitHeading = (heading: string): [name: string, unit: string | undefined] => {
  const [, name = heading, unit] = /^(.*?)\s*[[(]([^\])]*)[\])]\s*\*?$/s.exec(heading) ?? [];
  return [name.replace(/\*$/, ''), unit?.trim() === '' ? undefined : unit];
};

export interface Headed {
  column: ReadColumn;
  factor: string;
}

/**
 * The column to which a heading belongs: by the name of its field, or by its short name with a unit.
 * @returns undefined if there is none; a text if its unit does not fit, saying why
 */
export const columnOfHeading = (
  heading: string,
  columns: readonly ReadColumn[],
): Headed | string | undefined => {
  const [name, unit] = splitHeading(heading);
  const named = compared(name);
  if (named === '') return undefined;
  const exact =
    columns.find(({ field }) => compared(field) === named) ??
    columns.find(({ field }) => compared(field) === compared(heading));
  const short = unit === undefined ? [] : columns.filter((column) => shortName(column) === named);
  const column = exact ?? (short.length === 1 ? short[0] : undefined);
  if (!column) return undefined;
  if (unit === undefined || (exact && column.unit === undefined)) return { column, factor: '1' };
  const factor = column.unit === undefined ? undefined : unitFactor(unit, column.unit);
  return factor === undefined
    ? `"${heading}" has the unit ${unit}, from which ${column.field} [${column.unit ?? '-'}] cannot be converted exactly: map the column with a factor`
    : { column, factor };
};
