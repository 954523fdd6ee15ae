import { GraphQLSchemaHost } from '@nestjs/graphql';
import {
  getNamedType,
  getNullableType,
  type GraphQLArgument,
  type GraphQLInputType,
  isEnumType,
  isInputObjectType,
  isLeafType,
  isListType,
  isNonNullType,
  isObjectType,
  type GraphQLOutputType,
} from 'graphql';
import type supertest from 'supertest';
import { RULE } from '../../src/common/auth/permit.js';
import type { TestApp } from '../harness/app.js';
import type { Caller } from './site.js';

/** Sends a request that reaches at least the rule of the route. */
export const send = (caller: Caller, method: string, path: string): supertest.Test => {
  if (method === 'GET') return caller.get(path);
  if (method === 'DELETE') return caller.delete(path);
  if (/\/(import|(imports|import-jobs)\/[\w-]+|samples|attachments)$/.test(path)) return caller.upload(path);
  return method === 'PUT' ? caller.put(path, {}) : caller.post(path, {});
};

/** A value of a type, valid enough to reach the field's own rules. */
const sample = (type: GraphQLInputType, name: string): string => {
  const bare = getNullableType(type);
  if (isListType(bare)) return name === 'weekdays' ? '[1]' : '[]';
  if (isEnumType(bare)) return bare.getValues()[0]?.name ?? '';
  if (isInputObjectType(bare))
    return `{ ${Object.values(bare.getFields())
      .filter((field) => isNonNullType(field.type))
      .map((field) => `${field.name}: ${sample(field.type, field.name)}`)
      .join(', ')} }`;
  const samples: Record<string, string> = {
    Int: '1',
    Float: '1',
    Boolean: 'true',
    Chainage: name === 'to' || name === 'endChainage' ? '"1+300"' : '"1+200"',
    Decimal: '"1"',
    Date: '"2027-03-01"',
    Instant: '"2027-03-01T06:00:00Z"',
  };
  const codes: Record<string, string> = { drive: '"N"', shift: '"day"', ifMatch: '"*"' };
  return samples[getNamedType(bare).name] ?? codes[name] ?? '"x"';
};

const argumentsOf = (args: readonly GraphQLArgument[], project: string): string => {
  const given = args
    .filter(({ type }) => isNonNullType(type))
    .map(({ name, type }) => `${name}: ${name === 'project' ? `"${project}"` : sample(type, name)}`);
  return given.length > 0 ? `(${given.join(', ')})` : '';
};

const leavesOf = (type: GraphQLOutputType): string => {
  const named = getNamedType(type);
  if (isLeafType(named) || !isObjectType(named)) return '';
  const fields = Object.values(named.getFields());
  const leaf = fields.find((field) => isLeafType(getNamedType(field.type)) && !field.extensions[RULE]);
  const first = leaf ?? fields[0];
  return first ? `{ ${first.name}${leaf ? '' : ` ${leavesOf(first.type)}`} }` : '';
};

/** A field with valid enough arguments, and a selection of its answer. */
export const fieldOf = ({ app }: Pick<TestApp, 'app'>, right: string, project: string): string => {
  const [typeName = '', fieldName = ''] = right.split('.');
  const { schema } = app.get(GraphQLSchemaHost);
  const type = schema.getType(typeName);
  const field = isObjectType(type) ? type.getFields()[fieldName] : undefined;
  if (!field) throw new Error(right);
  return `${fieldName}${argumentsOf(field.args, project)} ${leavesOf(field.type)}`;
};

/** A query or mutation with one field. */
export const queryOf = (app: Pick<TestApp, 'app'>, right: string, project: string): string => {
  const asked = fieldOf(app, right, project);
  const [typeName] = right.split('.');
  if (typeName === 'Project') return `{ project(project: "${project}") { ${asked} } }`;
  if (typeName === 'Drive') return `{ drive(project: "${project}", drive: "N") { ${asked} } }`;
  if (typeName === 'ShiftHead')
    return `{ drive(project: "${project}", drive: "N") { shifts { nodes { ${asked} } } } }`;
  return `${typeName === 'Mutation' ? 'mutation ' : ''}{ ${asked} }`;
};
