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

/** Up to `first` entries after `after`. */
export interface Page {
  first: number;
  after: number;
}

/** A page from rows read with one row more than the page size: the extra row shows whether another page follows. */
export const pageFrom = <T, Key extends number | string>(
  rows: T[],
  first: number,
  keyOf: (item: T) => Key,
): { items: T[]; next?: Key } => {
  const items = rows.slice(0, first);
  const last = items.at(-1);
  return rows.length > first && last !== undefined ? { items, next: keyOf(last) } : { items };
};

/** The position of an entry in a list ordered by more than one property; not part of the answer. */
const PLACE = Symbol('place');

/** The cursor of an entry of a keyed page; undefined for other entries. */
export const placeOf = (entry: object): string | undefined => (entry as { [PLACE]?: string })[PLACE];

/** A row with its position in its list. */
export type Keyed<T> = T & { cursor: string };

/** A page of rows whose position is in `cursor`: the values by which the list is ordered. */
export const keyedPage = <T extends object>(
  rows: Keyed<T>[],
  first: number,
): { items: T[]; next?: string } => {
  const items = rows.map(({ cursor, ...entry }) => Object.assign(entry, { [PLACE]: cursor }) as unknown as T);
  return pageFrom(items, first, (entry) => String(placeOf(entry)));
};

/** Default page size. */
export const USUAL_PAGE = 100;

/** The effective page; GraphQL may pass null for arguments left out. */
export const pageOf = ({ first, after }: PageArgs, start: number): Page => ({
  first: first ?? USUAL_PAGE,
  after: after ?? start,
});
