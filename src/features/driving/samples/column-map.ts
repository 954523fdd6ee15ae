import { type Fault, faulty, shown } from '../../../common/api/problem.js';
import { heading } from '../../../common/files/table/cell.js';
import { mapJson } from '../../../common/files/table/map-json.js';

export { heading };

/** The column from which a field is read; only readings have a factor other than 1. */
export interface Source {
  column: string;
  factor: number;
}

export type ColumnMap<Field extends string> = Map<Field, Source>;

/** A kind of row, for its column map. */
export interface RowKind<Field extends string> {
  /** as in "… is not a field of a sample" */
  name: string;
  fields: readonly Field[];
  /** fields that may have a factor */
  readings: object;
  /** faults of an incomplete map */
  incomplete(map: ColumnMap<Field>): Fault[];
}

export const atMap = (name: string, value: unknown, detail: string): Fault => ({
  in: 'body',
  pointer: name === '' ? '/map' : `/map/${name.replaceAll('~', '~0').replaceAll('/', '~1')}`,
  value: shown(value),
  detail,
});

const readSource = (name: string, entry: unknown, readings: object): Source | string => {
  if (typeof entry === 'string')
    return entry.trim() === '' ? `${name} does not name a column` : { column: heading(entry), factor: 1 };
  if (typeof entry !== 'object' || entry === null || Array.isArray(entry))
    return `${name} must be a column heading, or { "column": heading, "factor": number }`;
  const { column, factor = 1, ...rest } = entry as Record<string, unknown>;
  const [unknown] = Object.keys(rest);
  if (unknown !== undefined) return `${name} has "${unknown}"; it takes "column" and "factor" only`;
  if (typeof column !== 'string' || column.trim() === '') return `${name} does not name a column`;
  if (typeof factor !== 'number' || !Number.isFinite(factor) || factor <= 0)
    return `the factor of ${name} must be a number above 0`;
  if (factor !== 1 && !Object.hasOwn(readings, name))
    return `${name} takes no factor: numbers, positions and times are read as written`;
  return { column: heading(column), factor };
};

/** Requires one of two fields for a place. */
export const needsEither = <Field extends string>(
  map: ColumnMap<Field>,
  chainage: Field,
  metres: Field,
): Fault[] => {
  if (map.has(chainage) && map.has(metres))
    return [atMap(metres, map.get(metres)?.column, `the map has both ${chainage} and ${metres}: keep one`)];
  if (map.has(chainage) || map.has(metres)) return [];
  return [atMap(metres, undefined, `the map has neither ${chainage} nor ${metres}: it needs one`)];
};

/**
 * Reads the column map of a table: the column for each field.
 * @throws ProblemError invalid with every fault of the map
 */
export const readColumnMap = <Field extends string>(text: string, kind: RowKind<Field>): ColumnMap<Field> => {
  const map: ColumnMap<Field> = new Map();
  const faults: Fault[] = [];
  for (const [name, entry] of Object.entries(mapJson(text))) {
    const field = kind.fields.find((known) => known === name);
    const source =
      field === undefined
        ? `${name} is not a field of ${kind.name}; the fields are ${kind.fields.join(', ')}`
        : readSource(field, entry, kind.readings);
    if (typeof source === 'string') faults.push(atMap(name, entry, source));
    else if (field !== undefined) map.set(field, source);
  }
  // A field that is present but invalid is not also reported as missing.
  if (faults.length === 0) faults.push(...kind.incomplete(map));
  if (faults.length > 0) throw faulty('invalid', faults);
  return map;
};

export type PlacedColumns<Field extends string> = Map<Field, { index: number; factor: number }>;

const listed = (headings: string[]): string => {
  const most = 60;
  const names = headings.slice(0, most).map((name) => `"${String(shown(name))}"`);
  return headings.length > most ? `${names.join(', ')} and ${headings.length - most} more` : names.join(', ');
};

/**
 * Finds the columns of the map among the headings of the table.
 * @throws ProblemError invalid for a heading that appears twice, or a missing column
 */
export const placeColumns = <Field extends string>(
  map: ColumnMap<Field>,
  headings: string[],
): PlacedColumns<Field> => {
  const faults: Fault[] = [];
  const places = new Map<string, number>();
  headings.forEach((name, index) => {
    const first = places.get(name);
    if (first === undefined) places.set(name, index);
    else if (name !== '')
      faults.push({
        in: 'body',
        pointer: '/file',
        value: shown(name),
        detail: `the heading "${name}" appears twice, in columns ${first + 1} and ${index + 1}`,
      });
  });
  const columns: PlacedColumns<Field> = new Map();
  for (const [field, { column, factor }] of map) {
    const index = places.get(column);
    if (index !== undefined) columns.set(field, { index, factor });
    else
      faults.push(
        atMap(field, column, `the table has no column "${column}"; its columns are ${listed(headings)}`),
      );
  }
  if (faults.length > 0) throw faulty('invalid', faults);
  return columns;
};
