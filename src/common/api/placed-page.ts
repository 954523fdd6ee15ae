import { type Statements, readRows } from '../database/database.js';
import { pageRows } from '../database/listed.js';
import type { Query } from '../database/reading.js';
import { windowOf, type WindowPage } from './chainage-window.js';
import { afterMetres } from './cursor.js';
import { type Keyed, keyedPage, USUAL_PAGE } from './paging.js';

/**
 * A page of objects along a part of a drive, ordered by place and name.
 * @param query  parameters: the drive, the part's lower and upper driven metres, the place and name after which the page begins, and the number of rows
 * @throws ProblemError invalid with every fault of the part or the cursor
 */
export const placedPage = <T extends object>(
  statements: Statements,
  driveId: number,
  query: Query<Keyed<T>>,
  page: WindowPage,
): Promise<{ items: T[]; next?: string }> => pageBy(readRows, statements, driveId, query, page);

/** The same for a service that answers the rows as they are: a list requested whole is read by its query alone. */
export const placedList = <T extends object>(
  statements: Statements,
  driveId: number,
  query: Query<Keyed<T>>,
  page: WindowPage,
): Promise<{ items: T[]; next?: string }> => pageBy(pageRows, statements, driveId, query, page);

const pageBy = async <T extends object>(
  read: typeof pageRows,
  statements: Statements,
  driveId: number,
  query: Query<Keyed<T>>,
  { first, after, ...window }: WindowPage,
): Promise<{ items: T[]; next?: string }> => {
  const size = first ?? USUAL_PAGE;
  const { lowM, highM } = await windowOf(statements, driveId, window);
  const { at, name } = afterMetres(after);
  const rows = await read(statements, query, driveId, lowM, highM, at, name, size + 1);
  return keyedPage(rows, size);
};
