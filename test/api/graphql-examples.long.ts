import type { AddressInfo } from 'node:net';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import { type GraphQLSchema, parse, TypeInfo, visit, visitWithTypeInfo } from 'graphql';
import { createClient } from 'graphql-ws';
import WebSocket from 'ws';
import { page } from '../docs/pages.js';
import { type Office, startOffice } from '../harness/office.js';
import { Story } from './story.js';

// The examples, taken from docs/graphql-examples.md alone, are sent in its order, each by the person it names, to a new installation.

interface Shown {
  title: string;
  as: string;
  /** For a step sent by REST. */
  rest?: { operationId: string; example: string };
  query: string;
  variables: Record<string, unknown>;
  /** Query to run first, for the value of `<name>` in the variables. */
  before?: { name: string; query: string };
}

interface Answer {
  data?: Record<string, unknown> | null;
  errors?: { message: string }[];
}

let office: Office;
let schema: GraphQLSchema;
let story: Story;

const blocksOf = (text: string, language: string): string[] =>
  [...text.matchAll(new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\`$`, 'gm'))].map(
    ([, block = '']) => block,
  );

const shownIn = (section: string): Shown => {
  const [title = ''] = section.split('\n');
  const as = /sent by `(\w+)`/i.exec(section)?.[1] ?? '';
  const rest = /the example `(.+)` of `(\w+)` in/.exec(section);
  const queries = blocksOf(section, 'graphql');
  const name = /^First read `<(\w+)>`/m.exec(section)?.[1];
  return {
    title,
    as,
    ...(rest && { rest: { example: rest[1] ?? '', operationId: rest[2] ?? '' } }),
    query: queries.at(-1) ?? '',
    variables: JSON.parse(blocksOf(section, 'json')[0] ?? '{}') as Shown['variables'],
    ...(name !== undefined && { before: { name, query: queries[0] ?? '' } }),
  };
};

const [, mutations = [], queries = [], subscriptions = []] = page('docs/graphql-examples.md')
  .split(/^## /m)
  .map((chapter) => chapter.split(/^### /m).slice(1).map(shownIn));

/** The fields of an operation, such as "Drive.progress". */
const fieldsOf = ({ query }: Shown): string[] => {
  const fields: string[] = [];
  const info = new TypeInfo(schema);
  visit(
    parse(query),
    visitWithTypeInfo(info, {
      Field: ({ name }) => {
        fields.push(`${info.getParentType()?.name}.${name.value}`);
      },
    }),
  );
  return fields;
};

const ask = async (as: string, query: string, variables = {}): Promise<Answer> =>
  (await office.http.post('/graphql').set(office.headersOf(as)).send({ query, variables })).body as Answer;

/** The last value of a property, at any depth. */
const lastOf = (value: unknown, property: string): unknown => {
  if (typeof value !== 'object' || value === null) return undefined;
  return Object.entries(value).reduce<unknown>(
    (found, [key, inner]) => (key === property ? inner : (lastOf(inner, property) ?? found)),
    undefined,
  );
};

/** The variables with the values read before. */
const variablesOf = async ({ as, variables, before }: Shown): Promise<Shown['variables']> => {
  if (!before) return variables;
  const value = lastOf(await ask(as, before.query), before.name);
  return Object.fromEntries(
    Object.entries(variables).map(([name, given]) => [name, given === `<${before.name}>` ? value : given]),
  );
};

/** What is wrong with an answer; undefined if nothing. */
const wrong = ({ title, as }: Shown, { data, errors }: Answer): string | undefined =>
  errors || Object.values(data ?? { data: null }).includes(null)
    ? `${title} by ${as}: ${JSON.stringify(errors ?? data)}`
    : undefined;

const send = async (shown: Shown): Promise<string | undefined> => {
  const { title, as, rest, query } = shown;
  if (!rest) return wrong(shown, await ask(as, query, await variablesOf(shown)));
  const { status, text } = await story.send({ ...rest, as });
  return status < 300 ? undefined : `${title}: ${status} ${text}`;
};

const refusedOf = async (examples: Shown[]): Promise<string[]> => {
  const refused: string[] = [];
  for (const each of examples) {
    const found = await send(each);
    if (found !== undefined) refused.push(found);
  }
  return refused;
};

beforeAll(async () => {
  office = await startOffice('owner', ['poster', 'engineer', 'supervisor', 'qs']);
  ({ schema } = office.app.get(GraphQLSchemaHost));
  story = new Story(office);
});

afterAll(() => office.close());

it('exist for every mutation, query and subscription, and for every field of a project and a drive', () => {
  const shown = new Set(
    [...mutations, ...queries, ...subscriptions].filter(({ rest }) => !rest).flatMap(fieldsOf),
  );
  const all = ['Mutation', 'Query', 'Subscription', 'Project', 'Drive'].flatMap((name) => {
    const type = schema.getType(name);
    return type && 'getFields' in type
      ? Object.keys(type.getFields()).map((field) => `${name}.${field}`)
      : [];
  });
  expect(all.length).toBeGreaterThan(200);
  expect(all.filter((field) => !shown.has(field))).toEqual([]);
});

it('of mutations have the names of the operations of REST', () => {
  const named = story.operations.map(({ operation }) => operation.operationId);
  const own = Object.keys(schema.getMutationType()?.getFields() ?? {});
  expect(own.filter((name) => !named.includes(name))).toEqual([]);
});

it('leave to REST only what comes as a file or as lines', () => {
  const sent = mutations.flatMap(({ rest }) => (rest ? [rest.operationId] : []));
  const own = Object.keys(schema.getMutationType()?.getFields() ?? {});
  const files = sent.map((id) => Object.keys(contentTypesOf(id)));
  expect(sent.filter((id) => own.includes(id))).toEqual([]);
  expect(files.filter((types) => types.includes('application/json'))).toEqual([]);
});

const contentTypesOf = (operationId: string): object =>
  (story.find(operationId).operation.requestBody as { content: object }).content;

it('work as they are, one after another: mutations, then queries', async () => {
  expect(await refusedOf(mutations)).toEqual([]);
  expect(await refusedOf(queries)).toEqual([]);
});

it.each(subscriptions.map((each) => [each.title, each] as const))(
  '%s can be followed, from what the examples have written',
  async (_, { as, query, variables }) => {
    const { port } = office.app.getHttpServer().address() as AddressInfo;
    const client = createClient({
      url: `ws://127.0.0.1:${port}/graphql`,
      webSocketImpl: WebSocket,
      retryAttempts: 0,
      connectionParams: { authorization: office.headersOf(as).Authorization },
    });
    try {
      const first = await client.iterate({ query, variables }).next();
      const { data, errors } = first.value as Answer;
      expect([errors, Object.values(data ?? {})]).toEqual([undefined, [expect.any(Object)]]);
    } finally {
      await client.dispose();
    }
  },
);
