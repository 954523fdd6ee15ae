import { type Statements, readRows } from '../database/database.js';
import type { Query } from '../database/reading.js';
import { windowOf, type WindowPage } from './chainage-window.js';
import { afterMetres } from './cursor.js';
import { type Keyed, keyedPage, USUAL_PAGE } from './paging.js';

/**
 * A page of what lies along a part of a drive, by place and name.
 * @param query  takes the drive, the part's low and high driven metres, the place and name after which the page begins, and how many rows
 * @throws ProblemError invalid with every fault of the part or the cursor
 */
export const placedPage = async <T extends object>(
  statements: Statements,
  driveId: number,
  query: Query<Keyed<T>>,
  { first, after, ...window }: WindowPage,
): Promise<{ items: T[]; next?: string }> => {
  const size = first ?? USUAL_PAGE;
  const { lowM, highM } = await windowOf(statements, driveId, window);
  const { at, name } = afterMetres(after);
  const rows = await readRows(statements, query, driveId, lowM, highM, at, name, size + 1);
  return keyedPage(rows, size);
};
