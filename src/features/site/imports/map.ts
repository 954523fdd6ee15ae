import { isObject } from '../../../common/api/is-object.js';
import { escaped, type Fault, faulty, shown } from '../../../common/api/problem.js';
import { heading } from '../../../common/files/table/cell.js';
import { mapJson } from '../../../common/files/table/map-json.js';
import { unitFactor } from '../../../common/files/table/units.js';
import { columnOfHeading, type ReadColumn, type Source } from './headings.js';

const at = (pointer: string, value: unknown, detail: string): Fault => ({
  in: 'body',
  pointer,
  value: shown(value),
  detail,
});

const atMap = (name: string, value: unknown, detail: string): Fault =>
  at(`/map/${escaped(name)}`, value, detail);

const ENTRY = 'a column heading, { "column": heading, "unit" or "factor": …, "offset": … } or { "value": … }';

const decimal = (name: string, what: string, value: unknown): string => {
  if (typeof value === 'number' && Number.isFinite(value) && (what === 'offset' || value !== 0))
    return String(value);
  throw new RangeError(`the ${what} of ${name} must be a number${what === 'factor' ? ' other than 0' : ''}`);
};

const sourceOf = (name: string, entry: unknown, column: ReadColumn, headings: string[]): Source => {
  const whole = { field: name, factor: '1', offset: '0' };
  const place = (text: string): number => {
    const index = headings.indexOf(heading(text));
    if (index >= 0) return index;
    const listed = headings.slice(0, 60).map((each) => `"${String(shown(each))}"`);
    throw new RangeError(
      `the table has no column "${String(shown(text))}"; its columns are ${listed.join(', ')}`,
    );
  };
  if (typeof entry === 'string' && entry.trim() !== '') return { ...whole, place: place(entry) };
  if (!isObject(entry)) throw new RangeError(`${name} must be ${ENTRY}`);
  const { column: from, value, unit, factor, offset, ...rest } = entry;
  const [unknown] = Object.keys(rest);
  if (unknown !== undefined) throw new RangeError(`${name} has "${unknown}"; it must be ${ENTRY}`);
  if (value !== undefined) {
    if (from !== undefined || !['string', 'number', 'boolean'].includes(typeof value))
      throw new RangeError(`${name} must have a column, or a value that is text, a number, true or false`);
    return { ...whole, value: String(value) };
  }
  if (typeof from !== 'string' || from.trim() === '') throw new RangeError(`${name} does not name a column`);
  const isScaled = unit !== undefined || factor !== undefined || offset !== undefined;
  if (isScaled && column.type !== 'number' && column.type !== 'reading')
    throw new RangeError(`${name} takes no unit, factor or offset: it is read as written`);
  if (unit !== undefined && factor !== undefined)
    throw new RangeError(`${name} has a unit and a factor: keep one`);
  const byUnit =
    typeof unit === 'string' && column.unit !== undefined ? unitFactor(unit, column.unit) : undefined;
  if (unit !== undefined && byUnit === undefined)
    throw new RangeError(
      `${String(shown(unit))} cannot be converted exactly to ${name} [${column.unit ?? '-'}]`,
    );
  return {
    field: name,
    place: place(from),
    factor: byUnit ?? (factor === undefined ? '1' : decimal(name, 'factor', factor)),
    offset: offset === undefined ? '0' : decimal(name, 'offset', offset),
  };
};

const missingKeys = (sources: Source[], columns: readonly ReadColumn[]): Fault[] => {
  const mapped = new Set(sources.map(({ field }) => field));
  return columns
    .filter(({ isKey, field }) => isKey && !mapped.has(field))
    .map(({ field }) => at('/file', field, `the table has no column "${field}", which names its record`));
};

const twice = (headings: string[]): Fault[] =>
  headings
    .map((name, index) => ({ name, index, first: headings.indexOf(name) }))
    .filter(({ name, index, first }) => name !== '' && first < index)
    .map(({ name, index, first }) =>
      at('/file', name, `the heading "${name}" appears twice, in columns ${first + 1} and ${index + 1}`),
    );

/** Whether the map names a column; a map of fixed values only leaves the columns to their headings. */
const namesColumns = (map: string): boolean =>
  Object.values(mapJson(map)).some((entry) => !isObject(entry) || entry['value'] === undefined);

/** Sources by the map: every field that it names; other columns are ignored. */
const mappedSources = (text: string, columns: readonly ReadColumn[], headings: string[]): Source[] => {
  const faults: Fault[] = [];
  const read = columns.filter(({ isPassedOver }) => !isPassedOver);
  const sources = Object.entries(mapJson(text)).flatMap(([name, entry]): Source[] => {
    const column = read.find(({ field }) => field === name);
    try {
      if (column) return [sourceOf(name, entry, column, headings)];
      const names = read.map(({ field }) => field).join(', ');
      throw new RangeError(`${name} is not a field of this kind; the fields are ${names}`);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      faults.push(atMap(name, entry, error.message));
      return [];
    }
  });
  if (faults.length > 0) throw faulty('invalid', faults);
  return sources;
};

/** Sources by the headings: a heading that matches no field is refused, because its column would be lost silently. */
const headedSources = (
  columns: readonly ReadColumn[],
  headings: string[],
): { sources: Source[]; faults: Fault[] } => {
  const faults: Fault[] = [];
  const sources: Source[] = [];
  headings.forEach((text, place) => {
    if (text === '' || headings.indexOf(text) < place) return; // a duplicate heading is reported as such
    const found = columnOfHeading(text, columns);
    if (typeof found === 'string') faults.push(at('/file', text, found));
    else if (found?.column.isPassedOver) return;
    else if (!found) {
      const names = columns.map(({ field, unit }) => (unit === undefined ? field : `${field} [${unit}]`));
      faults.push(
        at(
          '/file',
          text,
          `"${String(shown(text))}" is not a known heading; name the columns by map, or use ${names.join(', ')}`,
        ),
      );
    } else if (sources.some(({ field }) => field === found.column.field))
      faults.push(
        at(
          '/file',
          text,
          `"${String(shown(text))}" is ${found.column.field} again, which an earlier column is already`,
        ),
      );
    else sources.push({ field: found.column.field, place, factor: found.factor, offset: '0' });
  });
  return { sources, faults };
};

/** Columns by their headings, combined with fixed values of the map. */
const withValues = (
  { sources, faults }: { sources: Source[]; faults: Fault[] },
  values: Source[],
): { sources: Source[]; faults: Fault[] } => {
  const both = values.filter(({ field }) => sources.some((source) => source.field === field));
  return {
    sources: [...sources, ...values],
    faults: [
      ...faults,
      ...both.map(({ field, value }) =>
        atMap(field, value, `${field} has a value in the map and a column in the table`),
      ),
    ],
  };
};

/**
 * The column of a table from which each field is read.
 * @param columns  the fields of the kind; those that a map may name first
 * @throws ProblemError invalid with every fault of the map or the headings
 */
export const sourcesOf = (
  map: string | undefined,
  columns: readonly ReadColumn[],
  headings: string[],
): Source[] => {
  const again = twice(headings);
  const mapped = map === undefined ? [] : mappedSources(map, columns, headings);
  const { sources, faults } =
    map !== undefined && namesColumns(map)
      ? { sources: mapped, faults: [] }
      : withValues(headedSources(columns, headings), mapped);
  const found = [...faults, ...again, ...missingKeys(sources, columns)];
  if (found.length > 0) throw faulty('invalid', found);
  return sources;
};

/** Whether a row can be the heading row: it names a key, or columns of the map. */
export const isHeadingRow = (
  map: string | undefined,
  columns: readonly ReadColumn[],
  headings: string[],
): boolean => {
  if (map !== undefined && namesColumns(map)) {
    const named = new Set(
      Object.values(mapJson(map)).map((entry) => heading(String(isObject(entry) ? entry['column'] : entry))),
    );
    return headings.some((each) => each !== '' && named.has(each));
  }
  const keys = columns.filter(({ isKey }) => isKey);
  return headings.some((each) => typeof columnOfHeading(each, keys) === 'object');
};
