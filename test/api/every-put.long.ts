import type { OpenAPIObject } from '@nestjs/swagger';
import { openApiOf } from '../../src/common/api/openapi.js';
import { P } from '../../src/common/api/examples/step.js';
import { type Examples, EXAMPLES, startWithExamples } from './put-examples.js';

// PUT takes what GET answers: for every PUT of the OpenAPI document.

let site: Examples;
let document: OpenAPIObject;

beforeAll(async () => {
  site = await startWithExamples();
  document = openApiOf(site.app.app);
});

afterAll(() => site.app.close());

/** Number of changes in the history of the record. */
const changes = async (): Promise<number> =>
  (await site.app.sql<{ n: number }>('select count(*)::int as n from history.change'))[0]?.n ?? 0;

const read = async (url: string): Promise<{ body: Record<string, unknown>; tag: string }> => {
  const { body, headers } = await site.app.http.get(url);
  return { body: body as Record<string, unknown>, tag: String(headers['etag']) };
};

/** The properties that the PUT of a route takes, by name. */
const taken = (path: string): string[] => {
  const { requestBody } = document.paths[path]?.put ?? {};
  if (!requestBody || '$ref' in requestBody) throw new Error(path);
  const { schema } = requestBody.content['application/json'] ?? {};
  if (!schema || !('$ref' in schema)) throw new Error(path);
  const found = document.components?.schemas?.[schema.$ref.split('/').at(-1) ?? ''];
  return Object.keys(found && 'properties' in found ? (found.properties ?? {}) : {});
};

interface Schema {
  $ref?: string;
  type?: string | string[];
  items?: Schema;
  anyOf?: Schema[];
  oneOf?: Schema[];
  allOf?: Schema[];
  properties?: Record<string, Schema>;
}

const schemaOf = (one: Schema): Schema => {
  const alone = [...(one.anyOf ?? []), ...(one.oneOf ?? []), ...(one.allOf ?? [])].filter(
    ({ type }) => type !== 'null',
  );
  const only = alone.length === 1 ? alone[0] : undefined;
  if (only) return schemaOf(only);
  if (one.$ref === undefined) return one;
  return (document.components?.schemas?.[one.$ref.split('/').at(-1) ?? ''] ?? {}) as Schema;
};

const typeOf = ({ type }: Schema): string =>
  [type ?? 'object']
    .flat()
    .filter((each) => each !== 'null')
    .join();

/** Properties whose type differs between answer and input. */
const unlike = (taken_: Schema, answered: Schema, at = ''): string[] => {
  const [own, theirs] = [schemaOf(taken_), schemaOf(answered)];
  if (typeOf(own) !== typeOf(theirs))
    return [`${at}: ${typeOf(own)} is taken, ${typeOf(theirs)} is answered`];
  if (own.items && theirs.items) return unlike(own.items, theirs.items, `${at}/*`);
  return Object.entries(own.properties ?? {}).flatMap(([name, property]) => {
    const other = theirs.properties?.[name];
    return other ? unlike(property, other, `${at}/${name}`) : [];
  });
};

it('accepts each property in the form in which it is answered: by every PUT', () => {
  const answers = Object.entries(document.paths).flatMap(([path, { get, put }]) => {
    if (!put?.requestBody || '$ref' in put.requestBody) return [];
    const body = put.requestBody.content['application/json']?.schema;
    const found = get?.responses['200'];
    const answer = found && !('$ref' in found) ? found.content?.['application/json']?.schema : undefined;
    return [{ path, found: body && answer ? unlike(body as Schema, answer as Schema) : ['no schema'] }];
  });
  expect(answers.length).toBeGreaterThan(30);
  expect(answers.filter(({ found }) => found.length > 0)).toEqual([]);
});

const changed = (value: unknown): unknown => {
  if (typeof value === 'number') return value + 1;
  if (typeof value === 'boolean') return !value;
  if (typeof value === 'string') return `${value}x`;
  return Array.isArray(value) ? [...(value as unknown[]), 1] : 'x';
};

const each = EXAMPLES.map(([path, keys]) => ({ path, keys, name: path.replace(P, '') || 'a project' }));

describe.each(each)('$name', ({ path, keys }) => {
  it('can be put as it was read, and nothing is written', async () => {
    const url = site.address(path, keys);
    const { body, tag } = await read(url);
    const [before, contents] = [await changes(), await site.app.contents()];
    const put = await site.app.http.put(url).set('if-match', tag).send(body);
    expect([put.status, put.body.errors]).toEqual([200, undefined]);
    expect((await read(url)).body).toEqual(body);
    expect([await changes(), await site.app.contents()]).toEqual([before, contents]);
  });

  it('is refused with a key or a computed value that differs', async () => {
    const url = site.address(path, keys);
    const { body, tag } = await read(url);
    const contents = await site.app.contents();
    const own = taken(path);
    for (const name of Object.keys(body).filter((one) => !own.includes(one))) {
      const sent = { ...body, [name]: changed(body[name]) };
      const put = await site.app.http.put(url).set('if-match', tag).send(sent);
      expect([name, put.status, put.body.errors]).toEqual([
        name,
        422,
        [expect.objectContaining({ in: 'body', pointer: `/${name}` })],
      ]);
    }
    expect(await site.app.contents()).toBe(contents);
  });
});
