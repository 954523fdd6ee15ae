import { mkdtemp } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type { OpenAPIObject } from '@nestjs/swagger';
import type { Response } from 'supertest';
import { openApiOf } from '../../src/common/api/openapi.js';
import { operationsOf } from '../../src/common/api/openapi-names.js';
import { PEPPER } from '../harness/guarded.js';
import { type Office, startOffice } from '../harness/office.js';

// The examples of the OpenAPI document, taken from the document alone, are sent in its order, each by who it names, to a new installation.

interface Shown {
  name: string;
  in: string;
  required?: boolean;
  example?: unknown;
  examples?: Record<string, { value: unknown }>;
}

interface Told {
  operationId: string;
  example: string;
  as: string;
  /** What is read first, for its entity tag. */
  ifMatchOf?: string;
}

let office: Office;
let document: OpenAPIObject;
let story: Told[];

const operations = () => operationsOf(document.paths);

const parametersOf = (operationId: string): Shown[] =>
  (operations().find(({ operation }) => operation.operationId === operationId)?.operation.parameters ??
    []) as Shown[];

const valueOf = ({ example, examples }: Shown, name: string): string =>
  encodeURIComponent(String(examples?.[name]?.value ?? example));

/** The address of an operation by the examples of its parameters: all keys, and the questions that have to be asked. */
const addressOf = (path_: string, operationId: string, name: string): string => {
  const parameters = parametersOf(operationId);
  const address = parameters
    .filter((each) => each.in === 'path')
    .reduce((so, each) => so.replace(`{${each.name}}`, valueOf(each, name)), path_);
  const asked = parameters.filter((each) => each.in === 'query' && each.required);
  return `${address}?${asked.map((each) => `${each.name}=${valueOf(each, name)}`).join('&')}`;
};

type Content = Record<string, { examples?: Record<string, { value: unknown }> }>;

const contentOf = ({ requestBody }: { requestBody?: unknown }): Content =>
  (requestBody as { content: Content } | undefined)?.content ?? {};

const find = (operationId: string) => {
  const found = operations().find(({ operation }) => operation.operationId === operationId);
  if (!found) throw new Error(operationId);
  return found;
};

/** The entity tag of what a step is sent to, read first. */
const tagOf = async ({ operationId, example, as, ifMatchOf = '' }: Told): Promise<string> => {
  const address = addressOf(find(ifMatchOf).path, operationId, example);
  return String((await office.http.get(address).set(office.headersOf(as))).headers['etag']);
};

const send = async (told: Told): Promise<Response> => {
  const { operationId, example, as, ifMatchOf } = told;
  const found = find(operationId);
  const request = office.http[found.method](addressOf(found.path, operationId, example)).set(
    office.headersOf(as),
  );
  if (ifMatchOf !== undefined) void request.set('if-match', await tagOf(told));
  const [type, media] =
    Object.entries(contentOf(found.operation)).find(([, each]) => each.examples?.[example]) ?? [];
  const value = media?.examples?.[example]?.value;
  if (type === undefined) return request;
  if (type !== 'multipart/form-data') return request.set('content-type', type).send(value as object);
  const { file, ...fields } = value as Record<string, string>;
  for (const [name, field] of Object.entries(fields)) void request.field(name, field);
  return request.attach('file', Buffer.from(file ?? ''), 'example.csv');
};

beforeAll(async () => {
  const ATTACHMENTS_DIR = await mkdtemp(path.join(tmpdir(), 'story-'));
  office = await startOffice('owner', ['poster', 'engineer', 'supervisor', 'qs'], {
    ATTACHMENTS_DIR,
    API_KEY_PEPPER: PEPPER,
  });
  document = openApiOf(office.app);
  story = (document as OpenAPIObject & { 'x-story': Told[] })['x-story'];
});

afterAll(() => office.close());

it('are of every operation that takes a body, and of every type of it; every key and question has one', () => {
  const bare = operations().flatMap(({ operation }) => {
    const { operationId: id = '' } = operation;
    const types = Object.entries(contentOf(operation)).filter(([, { examples = {} }]) =>
      Object.keys(examples).every((name) => !story.some((s) => s.operationId === id && s.example === name)),
    );
    const shown = parametersOf(id).filter(
      (each) => each.in !== 'header' && each.example === undefined && each.examples === undefined,
    );
    return [...types.map(([type]) => `${id}: ${type}`), ...shown.map(({ name }) => `${id}: ${name}`)];
  });
  expect(bare).toEqual([]);
});

it('are of every POST, also of those that take none', () => {
  const posts = operations().filter(({ method }) => method === 'post');
  const told = story.map(({ operationId }) => operationId);
  expect(
    posts.map(({ operation }) => operation.operationId).filter((id) => !told.includes(id ?? '')),
  ).toEqual([]);
});

it('work as they are, one after another; then everything that can be read is read', async () => {
  const refused: string[] = [];
  for (const each of story) {
    const { status, text } = await send(each);
    if (status >= 300) refused.push(`${each.operationId} ${each.example} by ${each.as}: ${status} ${text}`);
  }
  expect(refused).toEqual([]);
  expect(story.length).toBeGreaterThan(60);
  const unread: string[] = [];
  for (const { path: path_, method, operation } of operations().filter((each) => each.method === 'get')) {
    const address = addressOf(path_, operation.operationId ?? '', '');
    const { status, text } = await office.http[method](address).set(office.headersOf('owner'));
    if (status !== 200) unread.push(`${address}: ${status} ${text.slice(0, 300)}`);
  }
  // the prefix of a key is random, and a version has the number of its change
  expect(unread).toEqual(
    ['/api-keys/aaaaaaaaaa', '/versions/1?'].map((each) => expect.stringContaining(each) as unknown),
  );
});
