import type { OpenAPIObject } from '@nestjs/swagger';
import type { Response } from 'supertest';
import { openApiOf } from '../../src/common/api/openapi.js';
import { operationsOf } from '../../src/common/api/openapi-names.js';
import type { Office } from '../harness/office.js';

// The examples of the OpenAPI document, sent as its reader would: from the document alone.

export interface Shown {
  name: string;
  in: string;
  required?: boolean;
  example?: unknown;
  examples?: Record<string, { value: unknown }>;
}

export interface Step {
  operationId: string;
  example: string;
  as: string;
  /** What to read first, for its entity tag. */
  ifMatchOf?: string;
}

type Content = Record<string, { examples?: Record<string, { value: unknown }> }>;
type Found = ReturnType<typeof operationsOf>[number];

const valueOf = ({ example, examples }: Shown, name: string): string =>
  encodeURIComponent(String(examples?.[name]?.value ?? example));

export const contentOf = ({ requestBody }: { requestBody?: unknown }): Content =>
  (requestBody as { content: Content } | undefined)?.content ?? {};

export class Story {
  readonly operations: Found[];
  readonly steps: Step[];

  constructor(private readonly office: Office) {
    const document = openApiOf(office.app) as OpenAPIObject & { 'x-story': Step[] };
    this.operations = operationsOf(document.paths);
    this.steps = document['x-story'];
  }

  find(operationId: string): Found {
    const found = this.operations.find(({ operation }) => operation.operationId === operationId);
    if (!found) throw new Error(operationId);
    return found;
  }

  parametersOf(operationId: string): Shown[] {
    return (this.find(operationId).operation.parameters ?? []) as Shown[];
  }

  /** The address of an operation from the examples of its parameters: all keys, and the required query parameters. */
  addressOf(path: string, operationId: string, name: string): string {
    const parameters = this.parametersOf(operationId);
    const address = parameters
      .filter((each) => each.in === 'path')
      .reduce((so, each) => so.replace(`{${each.name}}`, valueOf(each, name)), path);
    const asked = parameters.filter((each) => each.in === 'query' && each.required);
    return `${address}?${asked.map((each) => `${each.name}=${valueOf(each, name)}`).join('&')}`;
  }

  async send(step: Step): Promise<Response> {
    const { http, headersOf } = this.office;
    const { operationId, example, as, ifMatchOf } = step;
    const found = this.find(operationId);
    const request = http[found.method](this.addressOf(found.path, operationId, example)).set(headersOf(as));
    if (ifMatchOf !== undefined) void request.set('if-match', await this.tagOf(step, ifMatchOf));
    const [type, media] =
      Object.entries(contentOf(found.operation)).find(([, each]) => each.examples?.[example]) ?? [];
    const value = media?.examples?.[example]?.value;
    if (type === undefined) return request;
    if (type !== 'multipart/form-data') return request.set('content-type', type).send(value as object);
    const { file, ...fields } = value as Record<string, string>;
    for (const [name, field] of Object.entries(fields)) void request.field(name, field);
    return request.attach('file', Buffer.from(file ?? ''), 'example.csv');
  }

  /** The entity tag of the target of a step, read first. */
  private async tagOf({ operationId, example, as }: Step, ifMatchOf: string): Promise<string> {
    const address = this.addressOf(this.find(ifMatchOf).path, operationId, example);
    const { headers } = await this.office.http.get(address).set(this.office.headersOf(as));
    return String(headers['etag']);
  }
}
