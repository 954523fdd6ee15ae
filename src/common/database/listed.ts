import { readRows, type Statements } from './database.js';
import { type Query, Reading } from './reading.js';
import { scope } from './scope.js';

/** A whole list: the query of one of its pages, with its values, without a limit. */
export interface WholeList {
  query: Reading<unknown>;
  values: unknown[];
}

/** Who answers a list whole, and would rather have its query than a page of its rows. */
export interface Listing {
  /** @returns whether it reads the list itself; then the page has no rows */
  take(list: WholeList): boolean;
}

/**
 * The rows of a page, for a service that answers them as they are. Where the whole list is asked for, its query is handed on.
 * @param query  takes the number of rows as its last parameter
 */
export const pageRows = async <T>(
  statements: Statements,
  query: Query<T>,
  ...parameters: [...unknown[], number]
): Promise<T[]> => {
  const values = [...parameters.slice(0, -1), null];
  if (query instanceof Reading && scope().listing?.take({ query, values })) return [];
  return readRows(statements, query, ...parameters);
};
