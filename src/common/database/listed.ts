import { readRows, type Statements } from './database.js';
import { type Query, Reading } from './reading.js';
import { scope } from './scope.js';

/** A whole list: the query of one of its pages, with its values, but without a limit. */
export interface WholeList {
  query: Reading<unknown>;
  values: unknown[];
}

/** A caller that answers a list whole, and takes its query instead of a page of rows. */
export interface Listing {
  /** @returns whether the caller reads the list itself; then the page stays empty */
  take(list: WholeList): boolean;
}

/**
 * The rows of a page, for a service that answers rows as they are. Where the whole list is requested, its query is passed on.
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
