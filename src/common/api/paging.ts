import { ArgsType } from '@nestjs/graphql';
import { IntField } from './fields.js';

/** A page of a list ordered by a number: `first` entries after `after`. */
@ArgsType()
export class PageArgs {
  @IntField({ description: 'Maximum number, up to 1000', min: 1, max: 1000, optional: true })
  first?: number;

  @IntField({ description: 'Only those after this number', min: 0, cursor: true, optional: true })
  after?: number;
}

/** The entries after one, `first` at most. */
export interface Page {
  first: number;
  after: number;
}

/** A page of the rows that were asked for, one more than its length: that one shows whether another follows. */
export const pageFrom = <T, Key extends number | string>(
  rows: T[],
  first: number,
  keyOf: (item: T) => Key,
): { items: T[]; next?: Key } => {
  const items = rows.slice(0, first);
  const last = items.at(-1);
  return rows.length > first && last !== undefined ? { items, next: keyOf(last) } : { items };
};

/** Where an entry stands in a list that is ordered by more than one property; it is not part of the answer. */
const PLACE = Symbol('place');

/** The cursor of an entry of a keyed page; undefined: it is of none. */
export const placeOf = (entry: object): string | undefined => (entry as { [PLACE]?: string })[PLACE];

/** A row that says where it stands in its list. */
export type Keyed<T> = T & { cursor: string };

/** A page of rows that say their place as `cursor`: the values by which the list is ordered. */
export const keyedPage = <T extends object>(
  rows: Keyed<T>[],
  first: number,
): { items: T[]; next?: string } => {
  const items = rows.map(({ cursor, ...entry }) => Object.assign(entry, { [PLACE]: cursor }) as unknown as T);
  return pageFrom(items, first, (entry) => String(placeOf(entry)));
};

/** Entries of a page when its size is left open. */
export const USUAL_PAGE = 100;

/** The page that is meant; GraphQL may say null for what it leaves open. */
export const pageOf = ({ first, after }: PageArgs, start: number): Page => ({
  first: first ?? USUAL_PAGE,
  after: after ?? start,
});
