import fc, { type Arbitrary } from 'fast-check';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import {
  getNamedType,
  type GraphQLField,
  type GraphQLInputType,
  isEnumType,
  isInputObjectType,
  isListType,
  isNonNullType,
  isObjectType,
  isRequiredArgument,
} from 'graphql';
import { type Examples, startWithExamples } from '../api/put-examples.js';
import { seed } from '../harness/seed.js';
import { HOSTILE, mutated } from './values.js';

// Operations made from the GraphQL schema, valid and hostile, for every field of Query and Mutation and every reading of a drive: none makes the
// service fail, and refused ones have written nothing.

let site: Examples;
let base: string;

beforeAll(async () => {
  site = await startWithExamples();
  base = await site.app.app.getUrl();
});

afterAll(() => site.app.close());

const SCALARS: Record<string, unknown[]> = {
  Int: [0, 1, 2, 10],
  Float: [0, 1, 2.5],
  Boolean: [true, false],
  Decimal: ['1', '10'],
  Chainage: ['1+200', '1+300'],
  Date: ['2027-03-01', '2027-03-31'],
  Instant: ['2027-03-01T06:00:00Z', '2027-03-01T18:00:00Z'],
  String: ['A', 'day', 'BOLT', 'V1', 'B.1'],
};

const soundInput = (type: GraphQLInputType, depth = 0): Arbitrary<unknown> => {
  if (isNonNullType(type)) return soundInput(type.ofType, depth);
  if (isListType(type)) return fc.array(soundInput(type.ofType, depth + 1), { maxLength: 2 });
  if (isEnumType(type)) return fc.constantFrom(...type.getValues().map(({ name }) => name));
  if (!isInputObjectType(type)) return fc.constantFrom(...(SCALARS[type.name] ?? ['x']));
  if (depth > 5) return fc.constant({});
  const fields = Object.values(type.getFields());
  return fc.record(Object.fromEntries(fields.map((each) => [each.name, soundInput(each.type, depth + 1)])), {
    requiredKeys: fields.filter((each) => isNonNullType(each.type)).map(({ name }) => name),
  });
};

const KEYS: Record<string, unknown> = { project: 'P1', drive: 'N', date: '2027-03-01', shift: 'day' };

type Field = GraphQLField<unknown, unknown>;

/** The selection for a field: its own values that take no arguments. */
const selectionOf = (field: Field): string => {
  const type = getNamedType(field.type);
  if (!isObjectType(type)) return '';
  const plain = Object.values(type.getFields()).filter(
    (each) => !isObjectType(getNamedType(each.type)) && !each.args.some(isRequiredArgument),
  );
  return `{ __typename ${plain.map(({ name }) => name).join(' ')} }`;
};

interface Operation {
  query: string;
  variables: unknown;
}

/** Operations for a field: with valid arguments, or with one that is not. @param around  as in `query (…) { drive { … } }` */
const operationsOf = (
  kind: string,
  field: Field,
  around: (inner: string) => string,
): Arbitrary<Operation> => {
  const declared = field.args.map((each) => `$${each.name}: ${String(each.type)}`).join(', ');
  const passed = field.args.map((each) => `${each.name}: $${each.name}`).join(', ');
  const head = declared === '' ? kind : `${kind} (${declared})`;
  const query = `${head} { ${around(`${field.name}${passed === '' ? '' : `(${passed})`} ${selectionOf(field)}`)} }`;
  const sound = fc.record(
    Object.fromEntries(
      field.args.map((each) => [
        each.name,
        KEYS[each.name] === undefined ? soundInput(each.type) : fc.constant(KEYS[each.name]),
      ]),
    ),
    { requiredKeys: field.args.filter(isRequiredArgument).map(({ name }) => name) },
  );
  const one = mutated(
    sound,
    field.args.map(({ name }) => name),
  );
  return fc
    .oneof({ weight: 4, arbitrary: sound }, { weight: 4, arbitrary: one }, fc.constantFrom(...HOSTILE))
    .map((variables) => ({ query, variables }));
};

const numRuns = 40;

interface Answer {
  data?: unknown;
  errors?: { message: string; extensions?: { status?: number } }[];
}

it('every field answers any arguments without a failure of the service, and writes nothing that it refuses', async () => {
  const { schema } = site.app.app.get(GraphQLSchemaHost);
  const fields = (type: string): Field[] => {
    const found = schema.getType(type);
    return isObjectType(found) ? Object.values(found.getFields()) : [];
  };
  const inDrive = (inner: string): string => `drive(project: "P1", drive: "N") { ${inner} }`;
  const plain = (inner: string): string => inner;
  const all = [
    ...fields('Query').map((field) => operationsOf('query', field, plain)),
    ...fields('Mutation').map((field) => operationsOf('mutation', field, plain)),
    ...fields('Drive').map((field) => operationsOf('query', field, inDrive)),
  ];
  const operations = all.flatMap((each, place) => fc.sample(each, { numRuns, seed: seed + place }));
  const writes = async (): Promise<number> =>
    (await site.app.sql<{ n: number }>('select count(*)::int as n from history.change'))[0]?.n ?? 0;
  const faults: string[] = [];
  let [written, answered] = [await writes(), 0];
  for (const { query, variables } of operations) {
    const response = await fetch(`${base}/graphql`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ query, variables }),
      signal: AbortSignal.timeout(120_000),
    });
    const shown = `${query.slice(0, 300)} ${JSON.stringify(variables)?.slice(0, 300)}`;
    const text = await response.text();
    const { data, errors = [] } = JSON.parse(text) as Answer;
    const failed = errors.some(({ extensions }) => (extensions?.status ?? 0) >= 500);
    if (response.status >= 500 || failed) faults.push(`${shown} → ${response.status} ${text.slice(0, 300)}`);
    if (data != null && errors.length === 0) answered += 1;
    if (!query.startsWith('mutation')) continue;
    const now = await writes();
    if (errors.length > 0 && now !== written) faults.push(`${shown} → refused, and it wrote`);
    written = now;
  }
  if (process.env.FUZZ_REPORT !== undefined)
    process.stdout.write(`seed ${seed}: ${operations.length} operations, ${answered} carried out\n`);
  expect({ seed, faults }).toEqual({ seed, faults: [] });
  expect(answered).toBeGreaterThan(operations.length / 10);
});
