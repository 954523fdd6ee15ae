import { DIGEST, NOTE } from '../../src/common/api/examples/ground.js';
import { STORY } from '../../src/common/api/examples/story.js';
import { startApp, type TestApp } from '../harness/app.js';
import { addressOf, type Operation, operationsOf } from './operations.js';

// One resource of each kind, by every PUT of the story from which the OpenAPI document takes its examples.

export const EXAMPLES: [path: string, keys: Record<string, string>, body: object][] = STORY.flatMap(
  ({ method, path: of, keys, body, ofVersion }) =>
    method === 'put' && !ofVersion && typeof body === 'object' ? [[of, keys, body]] : [],
);

/** A first PUT and its result. */
export interface Put {
  url: string;
  /** Whether it existed before; undefined unless checked. */
  stood: boolean | undefined;
  status: number;
  location: string | undefined;
}

/** A service with one resource of each kind, and its OpenAPI document. */
export interface Examples {
  app: TestApp;
  operations: Operation[];
  operation(method: string, path: string): Operation | undefined;
  /** The address of a resource by its route and keys. */
  address(path: string, keys: Record<string, string>): string;
  put: Put[];
}

/** @param looksFirst  whether each is read before it is put, to know whether it existed */
export const startWithExamples = async ({ looksFirst = false } = {}): Promise<Examples> => {
  const app = await startApp();
  const operations = operationsOf(app);
  const operation = (method: string, path_: string): Operation | undefined =>
    operations.find((each) => each.method === method && each.path === path_);
  const address = (path_: string, keys: Record<string, string>): string =>
    addressOf(path_, operation('put', path_)?.parameters ?? [], keys);
  const attach = async (): Promise<void> => {
    const attached = await app.http
      .post('/v1/projects/P1/drives/N/attachments')
      .attach('file', Buffer.from(NOTE), 'note.txt');
    expect([attached.status, attached.body.digest]).toEqual([201, DIGEST]);
  };
  const refused: string[] = [];
  const put: Put[] = [];
  for (const [path_, keys, body] of EXAMPLES) {
    if (path_.endsWith('/attachments/{digest}')) await attach();
    const url = address(path_, keys);
    const stood = looksFirst ? (await app.http.get(url)).status === 200 : undefined;
    const { status, headers, text } = await app.http.put(url).send(body);
    if (status >= 300) refused.push(`${url}: ${text}`);
    put.push({ url, stood, status, location: headers['location'] as string | undefined });
  }
  expect(refused).toEqual([]);
  return { app, operations, operation, address, put };
};
