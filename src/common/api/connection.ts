import { type Type } from '@nestjs/common';
import { ObjectType } from '@nestjs/graphql';
import { placeOf } from './paging.js';
import { BooleanField, ListField, ObjectField, TextField } from './fields.js';

@ObjectType({ description: 'Where a page lies in its list, after the Relay specification of connections.' })
export class PageInfo {
  @BooleanField({ description: 'Whether entries follow the last one of this page' })
  hasNextPage: boolean;

  @BooleanField({ description: 'Whether entries precede the page; not looked for, so false' })
  hasPreviousPage: boolean;

  @TextField({ description: 'Cursor of the first entry; absent on an empty page', optional: true })
  startCursor?: string;

  @TextField({
    description: 'Cursor of the last entry: pass it as after to get the next page; absent on an empty page',
    optional: true,
  })
  endCursor?: string;
}

export interface Edge<Node> {
  cursor: string;
  node: Node;
}

/** A page of a list as GraphQL answers it. */
export interface Connection<Node> {
  edges: Edge<Node>[];
  nodes: Node[];
  pageInfo: PageInfo;
}

/** A page of a list as REST answers it. */
interface Page<Node> {
  items: Node[];
  next?: string | number;
}

/**
 * The GraphQL connection type of a long list that REST answers in pages.
 * @param head  fields of the page beside its entries
 */
export const connectionOf = <Node extends object, Head extends object = object>(
  node: Type<Node>,
  name: string,
  head?: Type<Head> | (abstract new () => Head),
): Type<Connection<Node> & Head> => {
  @ObjectType(`${name}Edge`, { description: 'An entry of a list, and its place in it.' })
  class NodeEdge {
    @TextField({ description: 'Its place in the list; pass it as after to get the entries that follow' })
    cursor: string;

    @ObjectField(() => node, { description: 'The entry' })
    node: Node;
  }

  const Base = (head ?? Object) as Type<object>;

  @ObjectType(`${name}Connection`, {
    description: 'A page of a list, after the Relay specification of connections.',
  })
  class NodeConnection extends Base {
    @ListField(() => NodeEdge, { description: 'The entries with their cursors' })
    edges: NodeEdge[];

    @ListField(() => node, { description: 'The entries alone' })
    nodes: Node[];

    @ObjectField(() => PageInfo, { description: 'Where the page lies in the list' })
    pageInfo: PageInfo;
  }

  return NodeConnection as unknown as Type<Connection<Node> & Head>;
};

/**
 * A page as a connection. Cursors are the keys that REST uses for paging.
 * @param key  the property by which the list is ordered
 */
export const connected = <Node, Of extends Page<Node>>(
  page: Of & Page<Node>,
  key: keyof Of['items'][number],
): Omit<Of, 'items' | 'next'> & Connection<Of['items'][number]> => {
  const { items, next, ...head } = page;
  const edges = items.map((node) => ({
    cursor: placeOf(node as object) ?? String((node as Of['items'][number])[key]),
    node,
  }));
  const pageInfo = {
    hasNextPage: next != null,
    hasPreviousPage: false,
    startCursor: edges[0]?.cursor,
    endCursor: edges.at(-1)?.cursor,
  };
  return { ...head, edges, nodes: items, pageInfo } as never;
};
