/**
 * The facts and dimensions of the feed: views of `report`, each with the columns that identify a row, which are never null.
 */
export const ENTITY_SETS: Readonly<Record<string, readonly string[]>> = {
  dim_activity_code: ['activity_code_id'],
  dim_date: ['date'],
  dim_drive: ['drive_id'],
  dim_equipment: ['equipment_id'],
  dim_ground_class: ['ground_class_id'],
  dim_party: ['party_id'],
  dim_pay_item: ['pay_item_id'],
  dim_project: ['project_id'],
  dim_shift: ['shift_id'],
  dim_support_item: ['support_item_id'],
  dim_valuation: ['valuation_id'],
  dim_zone: ['zone_id'],
  fact_activity_part: ['activity_id', 'production_day'],
  fact_boring: ['boring_id', 'from_m'],
  fact_ground_interval: ['drive_id', 'number'],
  fact_inflow: ['inflow_id'],
  fact_probe_hole: ['probe_hole_id'],
  fact_support_line: ['support_line_id'],
  fact_valuation_line: ['valuation_id', 'pay_item_id'],
};

/** Kinds of values: OData types that can be compared with one another are of one kind. */
export type Kind = 'number' | 'text' | 'boolean' | 'date' | 'instant';

interface Type {
  edm: string;
  kind: Kind;
  /** Facets of the type in the metadata. */
  facets?: Record<string, string>;
}

/** OData types for PostgreSQL's. A local time has no offset, and OData has no such type, so it is text. */
const TYPES: Readonly<Record<string, Type>> = {
  integer: { edm: 'Edm.Int32', kind: 'number' },
  smallint: { edm: 'Edm.Int16', kind: 'number' },
  bigint: { edm: 'Edm.Int64', kind: 'number' },
  numeric: { edm: 'Edm.Decimal', kind: 'number', facets: { Scale: 'variable' } },
  'double precision': { edm: 'Edm.Double', kind: 'number' },
  text: { edm: 'Edm.String', kind: 'text' },
  boolean: { edm: 'Edm.Boolean', kind: 'boolean' },
  date: { edm: 'Edm.Date', kind: 'date' },
  'timestamp with time zone': { edm: 'Edm.DateTimeOffset', kind: 'instant', facets: { Precision: '6' } },
  'timestamp without time zone': { edm: 'Edm.String', kind: 'text' },
};

export interface Property extends Type {
  name: string;
  isKey: boolean;
  description: string;
  /** SQL of its value, over a row of the view. */
  sql: string;
  /** PostgreSQL type as which its text is read back. */
  cast: string;
}

export interface EntitySet {
  name: string;
  description: string;
  properties: ReadonlyMap<string, Property>;
  key: readonly Property[];
}

/** A column from the database catalogue. */
export interface ColumnRow {
  view: string;
  view_text: string;
  name: string;
  type: string;
  text: string;
}

export const COLUMNS = `select c.relname as view, obj_description(c.oid, 'pg_class') as view_text, a.attname as name, format_type(a.atttypid, null) as type,
    col_description(c.oid, a.attnum) as text
  from pg_class c join pg_attribute a on a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped
  where c.relnamespace = 'report'::regnamespace and c.relname in (${Object.keys(ENTITY_SETS)
    .map((name) => `'${name}'`)
    .join(', ')})
  order by c.relname collate "C", a.attnum`;

const propertyOf = ({ name, type, text }: ColumnRow, key: readonly string[]): Property => {
  const known = TYPES[type];
  if (!known) throw new Error(`${name} has the type ${type}, which the feed does not know.`);
  const isLocal = type === 'timestamp without time zone';
  const sql = isLocal ? `to_char("${name}", 'YYYY-MM-DD"T"HH24:MI:SS')` : `"${name}"`;
  return { ...known, name, isKey: key.includes(name), description: text, sql, cast: isLocal ? 'text' : type };
};

/** @throws Error when a column of a view has a type that the feed does not support */
export const entitySetsOf = (rows: readonly ColumnRow[]): Map<string, EntitySet> =>
  new Map(
    Object.entries(ENTITY_SETS).map(([name, key]) => {
      const own = rows.filter(({ view }) => view === name);
      const properties = new Map(own.map((row) => [row.name, propertyOf(row, key)]));
      return [
        name,
        {
          name,
          description: own[0]?.view_text ?? '',
          properties,
          key: key.flatMap((column) => properties.get(column) ?? []),
        },
      ];
    }),
  );
