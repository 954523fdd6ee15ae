import pg from 'pg';
import type { WholeList } from '../../database/listed.js';
import { literal } from '../../database/reading-messages.js';
import { sqlOf } from '../../database/reading.js';
import { CSV } from '../../files/csv.js';
import { shapeOf } from '../whole.js';
import { type Column, columnsOf, tailOf } from './csv-columns.js';
import type { Form } from './forms.js';
import type { ListOf } from './list-of.js';

/** A column's type as PostgreSQL reports it. */
export interface ColumnType {
  name: string;
  type: string;
  /** Kind of the type: e for an enum. */
  kind: string;
}

/** The position of an entry in its list; not part of the answer. */
const PLACE = 'cursor';

const namesOf = ({ query }: WholeList): string[] => [
  ...new Set(query.columns.flatMap(({ shown }) => [...shown.keys()]).filter((name) => name !== PLACE)),
];

/** The query with its values inlined, as a cursor takes no parameters. */
const bound = ({ query, values }: WholeList): string =>
  sqlOf(query).replaceAll(/\$(\d+)/g, (_, n: string) => literal(values[Number(n) - 1]));

/** Reads the types of a list's columns, without reading the list. */
export const typesOf = (list: WholeList): string => {
  const values = namesOf(list).map((name) => `('${name}', pg_typeof(q."${name}"))`);
  return `select c.name, c.type::text as type, t.typtype::text as kind from (select) one left join (${bound(list)}) q on false
    cross join lateral (values ${values.join(', ')}) c(name, type) join pg_type t on t.oid = c.type`;
};

/** How a value is written in JSON and as text; a word has no characters that CSV or a spreadsheet treats specially. */
type Kind = 'number' | 'reading' | 'boolean' | 'text' | 'word' | 'moment';

const KINDS: Readonly<Record<string, Kind>> = {
  integer: 'number',
  smallint: 'number',
  bigint: 'number',
  'double precision': 'reading',
  boolean: 'boolean',
  text: 'text',
  'character varying': 'text',
  date: 'word',
  'timestamp with time zone': 'moment',
  'timestamp without time zone': 'moment',
};

const kindOf = ({ type, kind }: ColumnType): Kind | undefined => (kind === 'e' ? 'word' : KINDS[type]);

/** Whether both write the number alike: PostgreSQL writes others with an exponent, where JavaScript does so only below 1e-7 and from 1e21 on. */
const isPlain = (column: string): string =>
  `abs(${column}) >= 1e-4 and abs(${column}) < 1e15 or ${column} = 0`;

/** Text that begins a formula, as `safeText` defines it; the first character is tested first because that is cheaper. */
const FORMULA = `E'^''*[=+\\\\-@\\t\\r\\n＝＋－＠]'`;
const FIRST = [..."'=+-@\t\r\n＝＋－＠"].map((character) => character.codePointAt(0)).join(', ');
const NUMBER = `'^-?\\d+(\\.\\d+)?$'`;

/** A value in its cell, as `cellOf` writes it; null is empty. */
const cell = (column: string, kind: Kind, { isText, isChainage }: Column): string => {
  switch (kind) {
    case 'number':
    case 'boolean':
      return `${column}::text`;
    case 'reading':
      return `case when ${isPlain(column)} then ${column}::text else ${column}::text::numeric::text end`;
    case 'moment':
      return `to_json(${column})::text`; // quoted, with no quotation marks inside
    case 'word':
      return `'"' || ${column}::text || '"'`;
    case 'text': {
      const text = `${column}::text`;
      if (!isText) return text;
      if (isChainage) return `case when ${text} like '-%' then '"''' else '"' end || ${text} || '"'`;
      const isFormula = `ascii(${text}) in (${FIRST}) and ${text} ~ ${FORMULA} and ${text} !~ ${NUMBER}`;
      return `'"' || case when ${isFormula} then '''' else '' end || replace(${text}, '"', '""') || '"'`;
    }
  }
};

/** A value in JSON, as JavaScript writes it. */
const json = (column: string, kind: Kind | undefined): string =>
  kind === 'reading'
    ? `case when ${isPlain(column)} then to_json(${column}) else to_json(${column}::text::numeric) end`
    : column;

/**
 * SQL of the lines of a list, one row each: the same bytes as when its entries are read and written here.
 * @param head  the page's fields beside the entries, for the last columns of a table
 * @returns undefined for a list with values that PostgreSQL writes differently
 */
export const linesOf = (
  form: Form,
  { entry, head: names = [] }: ListOf,
  list: WholeList,
  types: readonly ColumnType[],
  head: Record<string, unknown>,
): string | undefined => {
  const kinds = new Map(types.map((type) => [type.name, kindOf(type)]));
  if ([...kinds.values()].includes(undefined)) return undefined;
  const from = `(${bound(list)}) q`;
  const valueOf = (name: string): string => `q."${name}"`;
  if (form === CSV) {
    const columns: Column[] = columnsOf(entry);
    if (columns.some(({ path }) => path.length > 1 && kinds.has(path[0] as string))) return undefined;
    const cells = columns.map((column) => {
      const name = column.path[0] ?? '';
      const kind = kinds.get(name);
      return kind ? `coalesce(${cell(valueOf(name), kind, column)}, '')` : `''`;
    });
    const tail = pg.escapeLiteral(tailOf(names.map((name) => head[name])));
    return `select ${cells.join(` || ',' || `)} || ${tail} as line from ${from}`;
  }
  const all = [...namesOf(list), ...shapeOf(entry).names.filter((name) => !kinds.has(name))];
  const row = all.map(
    (name) => `${kinds.has(name) ? json(valueOf(name), kinds.get(name)) : 'null'} as "${name}"`,
  );
  return `select row_to_json(t)::text || E'\\n' as line from (select ${row.join(', ')} from ${from}) t`;
};
