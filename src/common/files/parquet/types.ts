/** Parquet types with an exact counterpart among PostgreSQL's. */
export type ParquetType =
  | { kind: 'boolean' | 'int32' | 'int64' | 'double' | 'text' | 'date' | 'instant' | 'local' }
  | { kind: 'decimal'; precision: number; scale: number };

/** A column of a Parquet file. */
export interface ParquetColumn {
  name: string;
  type: ParquetType;
  /** SQL of its value, over a row of the source. */
  sql: string;
  /** Its meaning, with its unit. */
  description: string;
}

/** Most digits of a Parquet DECIMAL that all readers support. */
export const MOST_DIGITS = 38;

/** For numerics without a declaration: enough integer digits for any practical value, and decimals for sums and differences of measured values. */
export const UNDECLARED = { precision: MOST_DIGITS, scale: 9 };

/** PostgreSQL types that are sent as they are, or through another type that holds all their values. */
const PLAIN: Readonly<Record<string, { kind: Exclude<ParquetType['kind'], 'decimal'>; cast?: string }>> = {
  boolean: { kind: 'boolean' },
  smallint: { kind: 'int32', cast: 'integer' },
  integer: { kind: 'int32' },
  bigint: { kind: 'int64' },
  real: { kind: 'double', cast: 'double precision' },
  'double precision': { kind: 'double' },
  text: { kind: 'text' },
  date: { kind: 'date' },
  'timestamp with time zone': { kind: 'instant' },
  'timestamp without time zone': { kind: 'local' },
};

const quoted = (name: string): string => `"${name.replaceAll('"', '""')}"`;

/**
 * The Parquet column for a PostgreSQL type. A type without a counterpart is written as PostgreSQL's text.
 * @param type  as `format_type` names it, without its modifier
 * @param declared  precision and scale of a numeric, if declared
 */
export const parquetColumn = (
  name: string,
  type: string,
  declared: { precision: number; scale: number } | undefined,
  description = '',
): ParquetColumn => {
  if (type === 'numeric')
    return { name, type: { kind: 'decimal', ...(declared ?? UNDECLARED) }, sql: quoted(name), description };
  const { kind, cast } = PLAIN[type] ?? { kind: 'text', cast: 'text' };
  return {
    name,
    type: { kind },
    sql: cast === undefined ? quoted(name) : `${quoted(name)}::${cast}`,
    description,
  };
};

const WORDS: Readonly<Record<Exclude<ParquetType['kind'], 'decimal'>, string>> = {
  boolean: 'BOOLEAN',
  int32: 'INTEGER',
  int64: 'BIGINT',
  double: 'DOUBLE',
  text: 'VARCHAR',
  date: 'DATE',
  instant: 'TIMESTAMP WITH TIME ZONE',
  local: 'TIMESTAMP',
};

/** A type in SQL notation, such as DECIMAL(9,3). */
export const sqlType = (type: ParquetType): string =>
  type.kind === 'decimal' ? `DECIMAL(${type.precision},${type.scale})` : WORDS[type.kind];
