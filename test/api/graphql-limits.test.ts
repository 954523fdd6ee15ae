import { GraphQLSchemaHost } from '@nestjs/graphql';
import {
  getIntrospectionQuery,
  getNamedType,
  type GraphQLArgument,
  isIntrospectionType,
  type GraphQLNamedType,
  isLeafType,
  isNonNullType,
  isObjectType,
  parse,
} from 'graphql';
import { READERS } from '../../src/common/api/graphql-cost.js';
import { aBill, anItem } from '../builders/bill.js';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';

interface Body {
  data: unknown;
  errors?: { message: string; extensions?: { type: string; status: number } }[];
}

const DRIVE = 'drive(project: "P1", drive: "N")';
const RANGE = '(from: "1+200", to: "1+300")';
const aliased = (count: number, field: string): string =>
  `{ ${DRIVE} { ${Array.from({ length: count }, (_, i) => `a${i}: ${field}`).join(' ')} } }`;

/** With the default limits. */
let app: TestApp;
/** With limits low enough to show the cost of a query. */
let tight: TestApp;

const ask = async (to: TestApp, query: string, variables?: object, operationName?: string): Promise<Body> =>
  (await to.http.post('/graphql').send({ query, variables, operationName })).body as Body;

const costs = async (query: string, variables?: object): Promise<string | undefined> =>
  (await ask(tight, query, variables)).errors?.[0]?.message;

beforeAll(async () => {
  app = await startApp();
  tight = await startApp({ GRAPHQL_MAX_COST: '1000', GRAPHQL_MAX_ALIASES: '1000' });
  await aProject(app);
  await aProject(tight);
});

afterAll(() => Promise.all([app.close(), tight.close()]));

const typeOf = (name: string): GraphQLNamedType => {
  const type = app.app.get(GraphQLSchemaHost).schema.getType(name);
  if (!type) throw new Error(`no type ${name}`);
  return type;
};

/** Values of required arguments, by type, or by type and name. */
const SAMPLES: Record<string, string> = {
  'Chainage!': '"1+200"',
  'Chainage! to': '"1+300"',
  'Instant!': '"2027-03-01T06:00:00Z"',
  'Instant! to': '"2027-03-02T06:00:00Z"',
  'Float!': '1.6',
  'Float! headM': '100',
  'Date!': '"2027-03-31"',
  'Decimal!': '"10"',
  'Decimal! conductivityMPerS': '"0.001"',
  'Int!': '24',
  'Int! number': '1',
  'String!': '"A"',
  'String! reference': '"T.1"',
};

/** Page sizes: the most strokes; and as many whole shifts as one query can afford, both as edges and as nodes. */
const PAGES: Record<string, number> = { strokes: 1000, shifts: 25 };

const argumentsOf = (field: string, args: readonly GraphQLArgument[]): string => {
  const given = args.flatMap(({ name, type }) => {
    if (name === 'first') return [`first: ${PAGES[field] ?? 100}`];
    return isNonNullType(type)
      ? [`${name}: ${SAMPLES[`${String(type)} ${name}`] ?? SAMPLES[String(type)]}`]
      : [];
  });
  return given.length > 0 ? `(${given.join(', ')})` : '';
};

/** Every field below a type, with a page size where possible, a full one for strokes, and the required arguments. */
const everything = (type: GraphQLNamedType): string => {
  if (!isObjectType(type)) return '';
  const fields = Object.values(type.getFields()).map(({ name, args, type: answer }) => {
    const given = argumentsOf(name, args);
    return `${name}${given} ${everything(getNamedType(answer))}`;
  });
  return `{ ${fields.join(' ')} }`;
};

// By hand: a field costs 1, one that reads the database 100, fields below a list count once per entry.
const PAGE = `The query costs 1,201 and the limit is 1,000: ask for fewer fields or smaller pages.`; // 100 + 100 + 1 + 1000 × 1
const strokes = (first: string): string => `{ ${DRIVE} { strokes(first: ${first}) { nodes { number } } } }`;

/** Fields without data in the trial drive, and their errors. */
const REFUSED: Record<string, string[]> = {
  dailyReport: ['There is no shift that starts in production day 2027-03-31 in drive N.'],
  groutingRound: ['There is no grouting round A in drive N.'],
  inflowMeasurement: ['There is no measurement of inflow A in drive N.'],
  valuationVerification: ['valuation 1 is draft: only a certified valuation can be verified'],
  waterTest: ['There is no water test A in drive N.'],
};

describe('the cost of a query', () => {
  it('is reported with the limit, as a problem', async () => {
    expect(await ask(tight, strokes('1000'))).toEqual({
      errors: [
        {
          message: PAGE,
          extensions: {
            code: 'invalid',
            type: '/docs/problems#invalid',
            title: 'The request breaks a rule',
            status: 422,
            detail: PAGE,
          },
        },
      ],
    });
  });

  it.each([
    ['a variable', `query ($n: Int) ${strokes('$n')}`, { n: 1000 }],
    ['a variable’s default', `query ($n: Int = 1000) ${strokes('$n')}`, {}],
    ['a variable in place of its default', `query ($n: Int = 5) ${strokes('$n')}`, { n: 1000 }],
    ['no size of a page, which is as the largest', `query ($n: Int) ${strokes('$n')}`, { n: -1 }],
    [
      'fragments',
      `{ ${DRIVE} { ...D } }
        fragment D on Drive { ... on Drive { strokes(first: 1000) { ...P } } }
        fragment P on StrokeConnection { ... { nodes { ...S } } }
        fragment S on Stroke { number }`,
      {},
    ],
    [
      'what a directive leaves out',
      `{ ${DRIVE} @skip(if: true) { strokes(first: 1000) { nodes { number } } } }`,
      {},
    ],
  ])('counts a page asked for by %s', async (_, query, variables) => {
    expect(await costs(query, variables)).toBe(PAGE);
  });

  it.each([
    // 100 + 100 + 1 + 100 × 9
    [
      'a page of no given size as 100',
      `{ ${DRIVE} { strokes { __typename nodes {
        number from to lengthM boringCount boringHours thrustKn torqueKnm rotationRpm } } } }`,
      '1,102',
    ],
    // 100 + 10 × (1 + 100 + 10 × 1)
    ['few projects and drives', '{ projects { name drives { name } } }', '1,210'],
    // 100 + (100 + 3 + 1 + 100 × 8 + 1 + 100 × 1)
    [
      'a list without pages as 100 entries',
      `{ ${DRIVE} { asBuilt${RANGE} { caution from to
        ground { from to groundClass lithology remark date shift withinM } support { item } } } }`,
      '1,105',
    ],
    // 100 + (1 + (1 + 100 × (1 + 10 × 1)))
    [
      'a list within a list as 10 entries',
      `{ shift(project: "P1", drive: "N", date: "2027-03-01", shift: "day") {
        document { strokes { borings { from } } } } }`,
      '1,202',
    ],
    // 100 + (100 + 1 + 1 × 1) + (100 + 1 + 1000 × 1)
    [
      'a fragment anew for each page',
      `{ ${DRIVE} { a: strokes(first: 1) { ...P } b: strokes(first: 1000) { ...P } } }
        fragment P on StrokeConnection { nodes { number } }`,
      '1,303',
    ],
    // 100 + 11 × (100 + 1)
    ['each field that reads the database', aliased(11, 'progress { faceM }'), '1,211'],
  ])('counts %s', async (_, query, cost) => {
    expect(await costs(query)).toContain(`The query costs ${cost} and`);
  });

  it('counts with the variables of each request, when the query is compiled too', async () => {
    const query = `query ($n: Int) ${strokes('$n')}`;
    for (let i = 0; i < 4; i += 1) expect((await ask(tight, query, { n: 10 })).errors).toBeUndefined();
    expect(await costs(query, { n: 1000 })).toBe(PAGE);
    expect((await ask(tight, query, { n: 10 })).errors).toBeUndefined();
  });

  it('is counted where fragments spread one another again and again', async () => {
    const chain = Array.from(
      { length: 60 },
      (_, i) => `fragment F${i} on Drive { ...F${i + 1} ...F${i + 1} }`,
    );
    const query = `{ ${DRIVE} { ...F0 } } ${chain.join(' ')} fragment F60 on Drive { progress { faceM } }`;
    expect(await costs(query)).toMatch(/^The query costs 116,445(,\d{3}){5} and/); // 2^60 × 101
  });

  it('allows every part of a drive, each whole, with a full page of strokes', async () => {
    const points = [
      { date: '2027-03-01', chainage: '1+200' },
      { date: '2027-04-01', chainage: '1+300' },
    ];
    await app.http.put('/v1/projects/P1/drives/N/programmes/A').send({ points });
    const whole = { from: '1+200', to: '2+200', groundClass: 'A' };
    const interval = { ...whole, advanceRateMPerD: '15' };
    await app.http.put('/v1/projects/P1/drives/N/class-decisions/1').send(whole);
    await app.http
      .put('/v1/projects/P1/drives/N/baselines/A')
      .send({ workingHoursPerDay: '20', intervals: [interval] });
    await app.http.put('/v1/projects/P1/drives/N/entitlements/A').send({
      rule: 'difference',
      baseline: 'A',
      tenderedWeeks: '52',
      workingHoursPerWeek: '100',
      items: [],
    });
    await app.http.put('/v1/projects/P1/drives/N/bills/A').send(aBill([anItem('T.1')]));
    const log = { from: '1+200', to: '1+210', mappedBy: 'ada', mappedAt: '2027-03-01T06:00:00Z' };
    await app.http.put('/v1/projects/P1/drives/N/ground-logs/A').send(log);
    const rule = { source: 'advance', dimension: 'length' };
    await app.http.put('/v1/projects/P1/drives/N/bills/A/rules/T.1').send(rule);
    await app.http.put('/v1/projects/P1/drives/N/valuations/1').send({ cutOff: '2027-03-31' });
    const drive = typeOf('Drive');
    const fields = isObjectType(drive) ? Object.values(drive.getFields()) : [];
    expect(fields.length).toBeGreaterThan(50);
    for (const { name, args, type } of fields) {
      const part = `${name}${argumentsOf(name, args)} ${everything(getNamedType(type))}`;
      const { errors } = await ask(app, `{ ${DRIVE} { ${part} } }`);
      expect([name, errors?.map(({ message }) => message)]).toEqual([name, REFUSED[name]]);
    }
  });

  it('allows a whole shift', async () => {
    const shift = aShift().withStroke(1, '1+200', '1+201.7', '06:00', '06:40').build();
    await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift);
    const query = `{ shift(project: "P1", drive: "N", date: "2027-03-01", shift: "day") ${everything(typeOf('StandingShift'))} }`;
    const { errors, data } = await ask(app, query);
    expect(errors).toBeUndefined();
    expect(data).toMatchObject({ shift: { document: { strokes: [{ number: 1 }] } } });
  });

  it('refuses the record of an interval requested many times, within the aliases allowed', async () => {
    const record = `{ strokes ${everything(typeOf('AsBuiltStroke'))} ground ${everything(typeOf('AsBuiltGround'))} support ${everything(typeOf('AsBuiltSupport'))} }`;
    const [refused] = (await ask(app, aliased(30, `asBuilt${RANGE} ${record}`))).errors ?? [];
    expect(refused?.message).toMatch(/^The query costs [\d,]+ and the limit is 100,000:/);
  });

  it('knows every field that has its own resolver', () => {
    const types = Object.values(app.app.get(GraphQLSchemaHost).schema.getTypeMap());
    const resolved = types.flatMap((type) =>
      isObjectType(type) && !isIntrospectionType(type)
        ? Object.values(type.getFields())
            .filter(
              (field) => field.resolve?.name !== 'rootFieldResolver' && !isLeafType(getNamedType(field.type)),
            )
            .map((field) => `${type.name}.${field.name}`)
        : [],
    );
    expect(resolved).toEqual(expect.arrayContaining(['Query.drive', 'Drive.asBuilt', 'Project.drives']));
    expect(resolved.filter((field) => !READERS.has(field.split('.')[0] ?? ''))).toEqual([]);
  });
});

describe('aliases', () => {
  it('are refused above the limit, wherever they are', async () => {
    const within = aliased(30, 'name');
    expect((await ask(app, within)).errors).toBeUndefined();
    const refused = 'The query has 31 aliases and the limit is 30.';
    expect((await ask(app, aliased(31, 'name'))).errors?.[0]?.message).toBe(refused);
    const spread = `{ b: ${DRIVE} { ...F ... on Drive { ...F } ...G } }
      fragment F on Drive { ${Array.from({ length: 10 }, (_, i) => `a${i}: name`).join(' ')} }
      fragment G on Drive { ...F }`;
    expect((await ask(app, spread)).errors?.[0]?.message).toBe(refused);
  });
});

describe('a query', () => {
  it.each([{}, { descriptions: false }, { specifiedByUrl: true, inputValueDeprecation: true, oneOf: true }])(
    'may request the schema, as clients do with %j',
    async (options) => {
      const { data, errors } = await ask(app, getIntrospectionQuery(options));
      expect([errors, data]).toEqual([undefined, { __schema: expect.anything() }]);
    },
  );

  it('is limited to the tokens and characters that a person would write', async () => {
    const tokens = await ask(app, `{ projects { ${'code '.repeat(2000)} } }`);
    expect(tokens.errors?.[0]?.message).toContain('more that 2000 tokens');
    const length = await ask(app, `{ projects { code } } # ${'x'.repeat(40_000)}`);
    expect(length.errors?.[0]?.message).toBe(
      'The query has 40,024 characters and the limit is 40,000: send values as variables.',
    );
  });

  it.each(['null', '5', '[]', '{}', '{"kind":"Document"}', JSON.stringify(parse('{ projects { code } }'))])(
    'is not accepted as JSON: %s',
    async (query) => {
      const { status, body } = await app.http.post('/graphql').send({ query });
      expect([status, (body as Body).errors?.[0]?.extensions?.status]).toEqual([200, 400]);
    },
  );

  it('is sent alone, not in a batch', async () => {
    const query = '{ projects { code } }';
    const { status, body } = await app.http.post('/graphql').send([{ query }, { query }]);
    expect([status, body.detail]).toEqual([
      400,
      'The body must be one object with a query; batches are not supported.',
    ]);
  });

  it('reports the first errors of its variables, also once it is compiled', async () => {
    const query = `mutation Put($document: ShiftDocumentInput!) {
      putShift(project: "P1", drive: "N", date: "2027-03-01", shift: "day", document: $document) { outcome } }`;
    const document = {
      state: 'draft',
      strokes: [],
      activities: [],
      ground: [],
      support: new Array(80).fill({}),
    };
    const answers = [];
    for (let i = 0; i < 4; i += 1) answers.push((await ask(app, query, { document })).errors);
    const [first] = answers;
    expect(first?.map(({ message }) => message)).toHaveLength(51); // 50, and one saying that the search stopped: graphql-js
    expect(first?.at(-1)?.message).toMatch(/Too many errors processing variables/);
    expect(answers).toEqual(new Array(4).fill(first));
  });

  it('with several operations runs the one that is named, every time', async () => {
    const query = `query Codes { projects { code } } query Names { projects { name } }`;
    const answers = [];
    for (const name of ['Codes', 'Codes', 'Names', 'Codes', 'Names'])
      answers.push(JSON.stringify((await ask(app, query, undefined, name)).data));
    const [codes, names] = ['{"projects":[{"code":"P1"}]}', expect.stringMatching(/^{"projects":\[{"name":/)];
    expect(answers).toEqual([codes, codes, names, codes, names]);
  });

  it('never runs a mutation beside the query that is named', async () => {
    const query = `query Codes { projects { code } }
      mutation Put { putGroundClass(project: "P1", code: "X", input: { description: "hard" }) { code } }`;
    for (let i = 0; i < 3; i += 1) await ask(app, query, undefined, 'Put');
    await app.sql(`delete from ground_class where code = 'X'`);
    expect((await ask(app, query, undefined, 'Codes')).data).toEqual({ projects: [{ code: 'P1' }] });
    expect(await app.sql(`select from ground_class where code = 'X'`)).toEqual([]);
  });
});
