import type { CellType } from '../../../common/files/table/canonical.js';
import { tidyUnit, unitFactor } from '../../../common/files/table/units.js';

/** What is known of a column where a table is read. */
export interface ReadColumn {
  field: string;
  type: CellType;
  unit?: string;
  isKey: boolean;
  /** it is only held to what stands: a formula without a stored value says nothing */
  isHeld?: boolean;
  /** it is known and not read */
  isPassedOver?: boolean;
}

/** From which column of a table a field is read, and how its numbers are converted. */
export interface Source {
  field: string;
  /** its place among the headings; absent: every row has the value */
  place?: number;
  value?: string;
  factor: string;
  offset: string;
}

/** Words as they are compared: without case, blanks, hyphens and underscores. */
const compared = (text: string): string => text.toLowerCase().replaceAll(/[^a-z0-9.°%]/g, '');

/** How a unit stands at the end of a name: dipDeg, lengthM, flowLPerMin. */
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

/** A heading and the unit in brackets behind it: "Torque [MNm]". */
export const splitHeading = (heading: string): [name: string, unit: string | undefined] => {
  const [, name = heading, unit] = /^(.*?)\s*[[(]([^\])]*)[\])]\s*\*?$/s.exec(heading) ?? [];
  return [name.replace(/\*$/, ''), unit?.trim() === '' ? undefined : unit];
};

export interface Headed {
  column: ReadColumn;
  factor: string;
}

/**
 * The column that a heading is of: by the name of its field, or by its short name with a unit.
 * @returns undefined for another heading; a text that says why a unit does not fit
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
