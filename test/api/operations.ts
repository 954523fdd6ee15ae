import type { OpenAPIObject } from '@nestjs/swagger';
import { openApiOf } from '../../src/common/api/openapi.js';
import type { Test } from 'supertest';
import type { TestApp } from '../harness/app.js';

export interface Parameter {
  name: string;
  in: 'query' | 'path' | 'header';
  required?: boolean;
  schema?: { type?: string; format?: string; enum?: string[] };
}

/** An operation of the OpenAPI document, with the single resource to which it belongs, if any. */
export interface Operation {
  name: string;
  method: 'get' | 'put' | 'post' | 'delete';
  path: string;
  address: string;
  parameters: Parameter[];
  responses: Record<string, unknown>;
  requestBody?: { content: Record<string, unknown> };
}

const VALUES: Record<string, string> = {
  project: 'P1',
  drive: 'N',
  date: '2027-03-01',
  day: '2027-03-01',
  validFrom: '2027-03-01',
  shift: 'day',
  digest: '0'.repeat(64),
  set: 'fact_boring',
  kind: 'ground-logs',
};

/** A value in the format of a path parameter. */
const valueOf = ({ name, schema }: Parameter): string =>
  VALUES[name] ?? (schema?.type === 'integer' || schema?.type === 'number' ? '1' : 'X1');

export const addressOf = (
  path: string,
  parameters: Parameter[],
  given: Record<string, string> = {},
): string =>
  parameters
    .filter((each) => each.in === 'path')
    .reduce((address, each) => address.replace(`{${each.name}}`, given[each.name] ?? valueOf(each)), path);

export const operationsOf = ({ app }: Pick<TestApp, 'app'>): Operation[] => {
  const { paths } = openApiOf(app) as OpenAPIObject;
  return Object.entries(paths).flatMap(([path, methods]) =>
    Object.entries(methods as Record<string, Omit<Operation, 'name' | 'address' | 'path'>>).map(
      ([method, { parameters = [], responses, requestBody }]) => ({
        name: `${method.toUpperCase()} ${path}`,
        method: method as Operation['method'],
        path,
        address: addressOf(path, parameters),
        parameters,
        responses,
        requestBody,
      }),
    ),
  );
};

/** Sends the minimum that reaches the route: an empty form where it takes one. */
export const send = (
  { http }: Pick<TestApp, 'http'>,
  { method, requestBody }: Pick<Operation, 'method' | 'requestBody'>,
  address: string,
): Test => {
  const request = http[method](address);
  return requestBody?.content['multipart/form-data'] === undefined
    ? request
    : request.field('dryRun', 'true');
};
