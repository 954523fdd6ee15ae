import type { EntitySet, Property } from './entity-sets.js';
import { type Bindings, filterSql } from './filter.js';
import { optionFault } from './refusals.js';

/** Default and maximum number of entities in an answer. */
export const USUAL_PAGE = 1000;
export const MAX_PAGE = 5000;

/** The query options, as sent. */
export interface Options {
  $select?: string;
  $filter?: string;
  $orderby?: string;
  $top?: number;
  $skip?: number;
  $count?: 'true' | 'false';
  $skiptoken?: string;
}

interface Order {
  property: Property;
  isDescending: boolean;
}

/** Bound values of a statement, each cast at its placeholder. */
export class Values implements Bindings {
  readonly all: unknown[] = [];

  bind(value: unknown, cast: string): string {
    this.all.push(value);
    return `$${this.all.length}::${cast}`;
  }
}

const listed = (text: string): string[] => text.split(',').map((each) => each.trim());

const propertyOf = (set: EntitySet, name: string, option: string): Property => {
  const property = set.properties.get(name);
  if (!property)
    throw optionFault(
      option,
      `names ${JSON.stringify(name.slice(0, 50))}, which is no property of ${set.name}`,
      name,
    );
  return property;
};

/** The properties of `$select`, each once, in order; all of them without it. */
export const selected = (set: EntitySet, text: string | undefined): Property[] => {
  const all = [...set.properties.values()];
  if (text === undefined) return all;
  const names = listed(text);
  return names.includes('*') ? all : [...new Set(names.map((name) => propertyOf(set, name, '$select')))];
};

const DIRECTIONS = ['asc', 'desc'];

/** The order of `$orderby`, followed by the key, so that every entity has a unique position. */
const ordersOf = (set: EntitySet, text: string | undefined): Order[] => {
  const asked = (text === undefined ? [] : listed(text)).map((term): Order => {
    const [name = '', direction = 'asc', ...rest] = term.split(/\s+/);
    if (!DIRECTIONS.includes(direction) || rest.length > 0)
      throw optionFault('$orderby', 'takes properties, each followed by asc, desc or nothing', term);
    return { property: propertyOf(set, name, '$orderby'), isDescending: direction === 'desc' };
  });
  const first = asked.filter(
    ({ property }, i) => asked.findIndex((other) => other.property === property) === i,
  );
  const rest = set.key.filter((key) => !first.some(({ property }) => property === key));
  return [...first, ...rest.map((property) => ({ property, isDescending: false }))];
};

/** The sort expressions of a term. Binary fractions are compared as decimals, whose text is exact. */
const ranked = ({ property: { sql, edm, cast } }: Order): { sql: string; cast: string } =>
  edm === 'Edm.Double' ? { sql: `${sql}::numeric`, cast: 'numeric' } : { sql, cast };

/** Null comes before all values, as in OData. */
const orderSql = (order: Order): string =>
  `${ranked(order).sql} ${order.isDescending ? 'desc nulls last' : 'asc nulls first'}`;

/** A position in the order: the values of its terms as text. */
type Place = (string | null)[];

const MAX_TOKEN = 4000;

export const tokenOf = (place: Place): string => Buffer.from(JSON.stringify(place)).toString('base64url');

const placeOf = (token: string, orders: Order[]): Place => {
  try {
    const place: unknown = JSON.parse(Buffer.from(token.slice(0, MAX_TOKEN), 'base64url').toString());
    if (
      Array.isArray(place) &&
      place.length === orders.length &&
      place.every((value) => value === null || typeof value === 'string')
    )
      return place as Place;
  } catch {
    // reported below
  }
  throw optionFault('$skiptoken', 'is not that of a next link of this query', token);
};

/** Condition for entities after a position: equal in the earlier terms, and beyond it in one. */
const afterSql = (orders: Order[], place: Place, values: Values): string => {
  const ways = orders.map((order, i) => {
    const { sql, cast } = ranked(order);
    const { isDescending } = order;
    const value = place[i];
    const bound = value == null ? null : values.bind(value, cast);
    const same = bound === null ? `${sql} is null` : `${sql} = ${bound}`;
    const after = isDescending
      ? bound === null
        ? 'false'
        : `(${sql} < ${bound} or ${sql} is null)`
      : bound === null
        ? `${sql} is not null`
        : `${sql} > ${bound}`;
    return { same, after };
  });
  return ways
    .map(({ after }, i) => `(${[...ways.slice(0, i).map(({ same }) => same), after].join(' and ')})`)
    .join(' or ');
};

/** A statement with its bound values. */
export interface Statement {
  sql: string;
  values: unknown[];
}

/** The statement for a page of entities. */
export interface PageStatement extends Statement {
  /** Most entities of this answer; one more is read, to know whether there are more. */
  first: number;
}

/** @param isText  whether decimals and 64-bit numbers are sent as text: IEEE754Compatible */
export const pageOf = (
  set: EntitySet,
  options: Options,
  pageSize: number,
  isText: boolean,
): PageStatement => {
  const values = new Values();
  const orders = ordersOf(set, options.$orderby);
  const where = options.$filter === undefined ? [] : [filterSql(options.$filter, set, values)];
  if (options.$skiptoken !== undefined)
    where.push(`(${afterSql(orders, placeOf(options.$skiptoken, orders), values)})`);
  const first = Math.min(options.$top ?? pageSize, pageSize);
  const columns = selected(set, options.$select).map(({ name, sql, edm }) => {
    const exact = isText && (edm === 'Edm.Decimal' || edm === 'Edm.Int64');
    return `${exact ? `${sql}::text` : sql} as "${name}"`;
  });
  const skipped = options.$skip === undefined ? '' : ` offset ${values.bind(options.$skip, 'bigint')}`;
  const sql = `select (select row_to_json(one) from (select ${columns.join(', ')}) one)::text as entity,
    array[${orders.map((order) => `(${ranked(order).sql})::text`).join(', ')}] as place
    from (select * from ${set.name}${where.length > 0 ? ` where ${where.join(' and ')}` : ''}
      order by ${orders.map(orderSql).join(', ')} limit ${values.bind(first + 1, 'bigint')}${skipped}) found`;
  return { sql, values: values.all, first };
};

/** Number of entities that match the filter. */
export const countOf = (set: EntitySet, filter: string | undefined): Statement => {
  const values = new Values();
  const where = filter === undefined ? '' : ` where ${filterSql(filter, set, values)}`;
  return { sql: `select count(*)::text as n from ${set.name}${where}`, values: values.all };
};
