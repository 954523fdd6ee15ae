import {
  getNamedType,
  type GraphQLField,
  type GraphQLObjectType,
  isLeafType,
  isObjectType,
  isRequiredArgument,
} from 'graphql';
import { READERS } from '../graphql-cost.js';

/** Nesting depth of objects in an example; pages of a list are not counted. */
const DEPTH = 2;

type Fields = GraphQLField<unknown, unknown>[];

const fieldsOf = (type: GraphQLObjectType): Fields =>
  Object.values(type.getFields()).filter(({ args }) => !args.some(isRequiredArgument));

const isConnection = (type: GraphQLObjectType): boolean => type.name.endsWith('Connection');

/** The fields selected of an object and of the objects in it. Fields that read the record themselves have their own example. */
const selected = (type: GraphQLObjectType, depth: number, above: readonly string[]): string[] =>
  fieldsOf(type).flatMap(({ name, type: of }) => {
    const named = getNamedType(of);
    if (isLeafType(named)) return [name];
    if (isConnection(type) && name === 'edges') return [];
    if (!isObjectType(named) || above.includes(named.name) || READERS.has(type.name)) return [];
    const left = isConnection(type) ? depth : depth - 1;
    if (left < 0) return [];
    const inner = selected(named, left, [...above, named.name]);
    return inner.length === 0 ? [] : [`${name} {`, ...inner.map((line) => `  ${line}`), '}'];
  });

/** The lines of a selection, beginning with its brace; none for a scalar. */
export const selectionOf = ({ type }: Pick<GraphQLField<unknown, unknown>, 'type'>): string[] => {
  const named = getNamedType(type);
  if (!isObjectType(named)) return [];
  return selected(named, DEPTH, [named.name]);
};
