import { type Declared, declaredProperties } from '../api/fields.js';

/** How a property is read: an SQL expression, which may be `text` ready for the answer; false: the query leaves it out. */
export type Read = string | { as: string } | false;

type Model<Row> = abstract new (...args: never[]) => Row;

type LeftOut<Reads> = { [Key in keyof Reads]: Reads[Key] extends false ? Key : never }[keyof Reads];

/** The part of a model that a row has. */
type RowOf<Row, Reads> = [LeftOut<Reads>] extends [never] ? Row : Omit<Row, LeftOut<Reads> & keyof Row>;

/** A select list. */
export class Columns<Row> {
  declare protected readonly row: Row;

  constructor(readonly shown: ReadonlyMap<string, { sql: string; as: Declared | undefined }>) {}

  /** A subset. */
  only<Name extends keyof Row & string>(...names: Name[]): Columns<Pick<Row, Name>> {
    return new Columns(new Map([...this.shown].filter(([property]) => names.includes(property as Name))));
  }

  /** Combined with other columns. */
  and<More>(others: Columns<More>): Columns<Row & More> {
    return new Columns(new Map([...this.shown, ...others.shown]));
  }

  toString(): string {
    return [...this.shown].map(([property, { sql }]) => `${sql} as "${property}"`).join(', ');
  }
}

/** A query whose rows have the properties of a model. */
export class Reading<Row> {
  declare protected readonly row: Row;

  constructor(
    readonly sql: string,
    readonly columns: readonly Columns<unknown>[],
  ) {}
}

/** A query of rows: those of a model, or SQL whose row type the caller declares. */
export type Query<Row> = string | Reading<Row>;

export const sqlOf = (query: Query<unknown>): string => (typeof query === 'string' ? query : query.sql);

/** All readings by their SQL, so that a test can check each against the database. */
export const READINGS = new Map<string, Reading<unknown>>();

/** Columns whose name differs from that of their property everywhere. */
const USUAL: Partial<Record<string, string>> = {
  groundClass: 'ground_class_code',
  baselineClass: 'baseline_class_code',
  governingClass: 'governing_class_code',
};

/** `lengthM` → `length_m`, `per100M` → `per_100_m`, `areaM2` → `area_m2`, `p10` → `p10`. */
export const snakeCase = (property: string): string =>
  property.replace(/([a-z]{2,})(\d)/g, '$1_$2').replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);

const usualColumn = (property: string, { format, items }: Declared): string => {
  const usual = USUAL[property];
  if (usual !== undefined) return usual;
  const name = snakeCase(property);
  if ((format ?? items?.format) !== 'chainage') return name;
  return name.endsWith('chainage') ? `${name}_m` : `${name}_chainage_m`;
};

const shown = (column: string, { format, roundedTo }: Declared): string => {
  if (format === 'chainage') return `chainage_text(${column})`;
  if (format !== 'decimal') return column;
  const value = roundedTo === undefined ? column : `round(${column}, ${roundedTo})`;
  return /^[\w.]+(\(.*\))?$/.test(value) ? `${value}::text` : `(${value})::text`;
};

const IDENTIFIER = /^[a-z_]\w*$/;

/**
 * The select list of a model: each property as declared, from the column of its name in snake case; a chainage from
 * `…_chainage_m`, in its written form; decimals as text.
 * @param table  alias of the columns' table in the query; '' where there is only one
 * @param reads  properties read in another way: a column, or an expression; false: left out
 */
export const columnsOf = <
  Row extends object,
  const Reads extends { readonly [Key in keyof Row]?: Read } = object,
>(
  model: Model<Row>,
  table = '',
  reads?: Reads,
): Columns<RowOf<Row, Reads>> => {
  const columns = new Map<string, { sql: string; as: Declared }>();
  const of = (column: string): string =>
    table !== '' && IDENTIFIER.test(column) ? `${table}.${column}` : column;
  for (const [property, as] of declaredProperties(model)) {
    const read = (reads as Record<string, Read> | undefined)?.[property];
    if (read === false) continue;
    const sql = typeof read === 'object' ? read.as : shown(of(read ?? usualColumn(property, as)), as);
    columns.set(property, { sql, as });
  }
  return new Columns(columns);
};

/** Columns beside those of a model: what a service needs of a row but does not answer, or answers in another form. */
export const extra = <Row extends object>(reads: Record<keyof Row & string, string>): Columns<Row> =>
  new Columns(
    new Map(Object.entries<string>(reads).map(([name, read]) => [name, { sql: read, as: undefined }])),
  );

type Part = string | number | Columns<unknown>;

type Intersection<Union> = (Union extends unknown ? (of: Union) => void : never) extends (
  of: infer All,
) => void
  ? All
  : never;

type Rows<Parts> = Parts extends readonly (infer Each)[]
  ? Intersection<Each extends Columns<infer Row> ? Row : never>
  : never;

/** A row of a model as one JSON object, to be aggregated within a query. */
export const objectOf = (columns: Columns<unknown>): string =>
  `json_build_object(${[...columns.shown].map(([property, { sql: read }]) => `'${property}', ${read}`).join(', ')})`;

interface Sql {
  <Row>(strings: TemplateStringsArray, columns: Columns<Row>, ...others: (string | number)[]): Reading<Row>;
  <const Parts extends readonly Part[]>(strings: TemplateStringsArray, ...parts: Parts): Reading<Rows<Parts>>;
}

/** A query with embedded select lists: its rows have their properties. */
export const sql: Sql = (strings: TemplateStringsArray, ...parts: Part[]): Reading<never> => {
  const reading = new Reading<never>(
    strings.reduce((all, string, at) => `${all}${String(parts[at - 1])}${string}`),
    parts.filter((part) => part instanceof Columns),
  );
  READINGS.set(reading.sql, reading);
  return reading;
};
