import { GraphQLSchemaHost } from '@nestjs/graphql';
import {
  type GraphQLArgument,
  type GraphQLField,
  type GraphQLInputField,
  type GraphQLNamedType,
  type GraphQLSchema,
  getNamedType,
  isEnumType,
  isInputObjectType,
  isIntrospectionType,
  isNonNullType,
  isObjectType,
  isScalarType,
  isSpecifiedScalarType,
} from 'graphql';
import type { Connection } from '../../src/common/api/connection.js';
import { RULE } from '../../src/common/auth/permit.js';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';

// What clients expect of every type and field of the schema, including future ones.

let app: TestApp;
let schema: GraphQLSchema;
let types: GraphQLNamedType[];

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  ({ schema } = app.app.get(GraphQLSchemaHost));
  types = Object.values(schema.getTypeMap()).filter(
    (type) => !isIntrospectionType(type) && !isSpecifiedScalarType(type),
  );
});

afterAll(() => app.close());

type Member = GraphQLField<unknown, unknown> | GraphQLInputField | GraphQLArgument;

/** Fields of types and inputs, and arguments, by position. */
const members = (): [place: string, member: Member][] =>
  types.flatMap((type) => {
    if (isInputObjectType(type))
      return Object.values(type.getFields()).map((field): [string, Member] => [
        `${type.name}.${field.name}`,
        field,
      ]);
    if (!isObjectType(type)) return [];
    return Object.values(type.getFields()).flatMap((field): [string, Member][] => [
      [`${type.name}.${field.name}`, field],
      ...field.args.map((arg): [string, Member] => [`${type.name}.${field.name}(${arg.name})`, arg]),
    ]);
  });

it('describes every type, field, argument, input and enum value', () => {
  const described = [
    ...types.map((type): [string, string | null | undefined] => [type.name, type.description]),
    ...types
      .filter(isEnumType)
      .flatMap((type) =>
        type
          .getValues()
          .map((value): [string, string | null | undefined] => [
            `${type.name}.${value.name}`,
            value.description,
          ]),
      ),
    ...members().map(([place, { description }]): [string, string | null | undefined] => [place, description]),
  ];
  expect(described.length).toBeGreaterThan(2000);
  expect(described.filter(([, text]) => !text?.trim()).map(([place]) => place)).toEqual([]);
});

const QUANTITY =
  /[a-z](M|M2|M3|Mm|Kn|Knm|Kw|Deg|Percent|Hours|Min|Minutes|Kg|T|Bar|Mpa|PerH|PerM|PerMin|Rpm|Weeks)$/;

/** Their names look like quantities with a unit, but they have none, or that of the item named beside them. */
const WITHOUT_UNIT = [
  'DemandedSupport.quantityPerM',
  'DemandedSupportInput.quantityPerM',
  'RequiredItem.quantityPerM',
  'RatingRow.strengthRatioMin',
];

it('names the unit of every quantity', () => {
  const bare = members().filter(
    ([, { name, description, type }]) =>
      QUANTITY.test(name) &&
      /^\[?(Float|Decimal|Int)/.test(String(type)) &&
      !/\[[^\]]+\]/.test(description ?? ''),
  );
  expect(bare.map(([place]) => place).sort()).toEqual([...WITHOUT_UNIT].sort());
});

it('names the specification of every custom scalar', () => {
  const scalars = types.filter(isScalarType);
  expect(scalars.length).toBeGreaterThan(4);
  for (const { name, specifiedByURL } of scalars)
    expect([name, URL.canParse(specifiedByURL ?? '')]).toEqual([name, true]);
});

it('has no field with a read or write of its own whose failure removes others', () => {
  const own = members().filter(([, member]) => 'args' in member && member.extensions[RULE]);
  expect(own.length).toBeGreaterThan(200);
  expect(own.filter(([, { type }]) => isNonNullType(type)).map(([place]) => place)).toEqual([]);
});

const ask = async (
  query: string,
): Promise<{ data: unknown; errors: { path: unknown; extensions: object }[] }> =>
  (await app.http.post('/graphql').send({ query })).body as never;

it('answers what exists beside what does not', async () => {
  const { data, errors } = await ask(
    `{ there: drive(project: "P1", drive: "N") { code baseline(baseline: "none") { baseline } progress { faceChainage } }
       gone: drive(project: "P1", drive: "NONE") { code }
       secret: project(project: "NONE") { code } }`,
  );
  expect(data).toEqual({
    there: { code: 'N', baseline: null, progress: { faceChainage: '1+200.000' } },
    gone: null,
    secret: null,
  });
  expect(errors.map(({ path, extensions }) => [path, extensions])).toEqual(
    expect.arrayContaining([
      [['there', 'baseline'], expect.objectContaining({ status: 404 })],
      [['gone'], expect.objectContaining({ status: 404 })],
      [['secret'], expect.objectContaining({ status: 404 })],
    ]),
  );
});

it('says which of several mutations were carried out', async () => {
  const { data, errors } = await ask(
    `mutation { one: putGroundClass(project: "P1", code: "C", input: { description: "Poor" }) { code }
       two: putGroundClass(project: "NONE", code: "C", input: { description: "Poor" }) { code }
       three: putGroundClass(project: "P1", code: "D", input: { description: "Bad" }) { code } }`,
  );
  expect(data).toEqual({ one: { code: 'C' }, two: null, three: { code: 'D' } });
  expect(errors.map(({ path }) => path)).toEqual([['two']]);
});

describe('long lists', () => {
  const fieldsOf = (type: GraphQLNamedType | undefined): Record<string, string> =>
    isObjectType(type)
      ? Object.fromEntries(Object.values(type.getFields()).map(({ name, type: of }) => [name, String(of)]))
      : {};

  // Relay, GraphQL Cursor Connections Specification: https://relay.dev/graphql/connections.htm
  it('are connections wherever a list is paged after an entry', () => {
    const paged = members().flatMap(([place, member]) =>
      'args' in member && member.args.some(({ name }) => name === 'after') ? [[place, member] as const] : [],
    );
    expect(paged.length).toBeGreaterThan(14);
    for (const [place, { args, type }] of paged) {
      const given = Object.fromEntries(args.map(({ name, type: of }) => [name, String(of)]));
      expect([place, given]).toEqual([place, expect.objectContaining({ first: 'Int', after: 'String' })]);
      const { name } = getNamedType(type);
      const node = name.replace(/Connection$/, '');
      const { edges, nodes, pageInfo } = fieldsOf(schema.getType(name));
      expect([place, edges, pageInfo]).toEqual([place, `[${node}Edge!]!`, 'PageInfo!']);
      expect([place, fieldsOf(schema.getType(`${node}Edge`))]).toEqual([
        place,
        { cursor: 'String!', node: nodes?.replace(/^\[(.*)\]!$/, '$1') },
      ]);
    }
    expect(fieldsOf(schema.getType('PageInfo'))).toEqual({
      hasNextPage: 'Boolean!',
      hasPreviousPage: 'Boolean!',
      startCursor: 'String',
      endCursor: 'String',
    });
    expect(types.filter(({ name }) => name.endsWith('Page')).map(({ name }) => name)).toEqual([]);
  });

  type List = Connection<{ key: string }>;

  const page = async (list: string, key: string, after?: string): Promise<List> => {
    const asked = `${list}(first: 1${after === undefined ? '' : `, after: "${after}"`})`;
    const query = `{ drive(project: "P1", drive: "N") { list: ${asked} { edges { cursor node { key: ${key} } }
      nodes { key: ${key} } pageInfo { hasNextPage hasPreviousPage startCursor endCursor } } } }`;
    const { data } = await ask(query);
    return (data as { drive: { list: List } }).drive.list;
  };

  it('continue after any entry, and end', async () => {
    for (const day of [1, 2, 3]) {
      const document = aShift(`2027-03-0${day}`)
        .withStroke(day, `1+20${day}`, `1+20${day + 1}`, '06:10', '07:00')
        .build();
      const url = `/v1/projects/P1/drives/N/shifts/2027-03-0${day}/day`;
      expect((await app.http.put(url).send(document)).status).toBe(201);
    }
    for (const [list, key, keys] of [
      ['strokes', 'number', [1, 2, 3]],
      ['shifts', 'date', ['2027-03-01', '2027-03-02', '2027-03-03']],
    ] as const) {
      const seen: unknown[] = [];
      let after: string | undefined;
      for (let more = true; more;) {
        const { edges, nodes, pageInfo }: List = await page(list, key, after);
        expect(edges.map(({ node }) => node)).toEqual(nodes);
        expect([pageInfo.startCursor, pageInfo.endCursor]).toEqual([edges[0]?.cursor, edges.at(-1)?.cursor]);
        seen.push(...nodes.map((node) => node.key));
        after = pageInfo.endCursor;
        more = pageInfo.hasNextPage && seen.length < 9;
      }
      expect([list, seen]).toEqual([list, keys]);
      const beyond = await page(list, key, after);
      expect([list, beyond.edges, beyond.pageInfo.endCursor]).toEqual([list, [], null]);
    }
  });

  it('of shifts contain their documents, with all their lists', async () => {
    const { data } = await ask(
      `{ drive(project: "P1", drive: "N") { shifts { nodes { date document { strokes { number borings { from } } activities { code } } } } } }`,
    );
    expect(data).toMatchObject({
      drive: {
        shifts: {
          nodes: [1, 2, 3].map((day) => ({
            date: `2027-03-0${day}`,
            document: { strokes: [{ number: day, borings: [{ from: `1+20${day}.000` }] }] },
          })),
        },
      },
    });
  });
});
