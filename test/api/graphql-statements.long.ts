import { jest } from '@jest/globals';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import { isObjectType } from 'graphql';
import { RULE } from '../../src/common/auth/permit.js';
import { aDrive, aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { fieldOf } from '../access/asking.js';
import { startApp, type TestApp } from '../harness/app.js';
import { hearStatements } from '../harness/sent.js';

// The number of messages that an operation sends to PostgreSQL depends on its document only: the same for seven projects as for one. Each
// field of the schema that reads is tried, including new ones.

let app: TestApp;

const PROJECTS = ['P1', 'P2', 'P3'];
const DRIVES = ['N', 'S', 'W'];

/** Messages beside the readings: access, the opening, the end, and the moment if one is given. */
const BESIDE = 4;

const aDay = async (
  project: string,
  drive: string,
  date: string,
  from: string,
  to: string,
): Promise<void> => {
  const document = aShift(date)
    .withStroke(1, from, to, '06:10', '07:00')
    .withActivity('BORE', '06:10', '07:00')
    .withSupport('BOLT', from, to, '4')
    .withGround('A', from, to)
    .build();
  const url = `/v1/projects/${project}/drives/${drive}/shifts/${date}/day`;
  const { status, body } = await app.http.put(url).send(document);
  expect([status, body.errors]).toEqual([201, undefined]);
};

beforeAll(async () => {
  app = await startApp({ GRAPHQL_MAX_COST: '10000000' });
  await aProject(app);
  await aDay('P1', 'N', '2027-03-01', '1+200', '1+201.500');
});

afterAll(() => app.close());
afterEach(() => jest.restoreAllMocks());

const grow = async (): Promise<void> => {
  for (const project of PROJECTS) {
    if (project !== 'P1') await aProject(app, { project });
    for (const drive of DRIVES) {
      if (drive !== 'N') await aDrive(app, { project, drive });
      if (project !== 'P1' || drive !== 'N') await aDay(project, drive, '2027-03-01', '1+200', '1+201.500');
    }
  }
};

interface Answer {
  data?: unknown;
  errors?: { message: string; path?: unknown[]; extensions?: { status?: number } }[];
}

const ask = async (query: string): Promise<Answer> => {
  const { status, body } = await app.http.post('/graphql').send({ query });
  expect([status, status === 200 ? '' : body]).toEqual([200, '']);
  const { errors = [] } = body as Answer;
  const unexpected = errors.filter(({ path, extensions }) => !path || (extensions?.status ?? 500) >= 500);
  expect([query, unexpected]).toEqual([query, []]);
  return body as Answer;
};

const sentBy = async (query: string): Promise<string[]> => {
  const heard = hearStatements();
  try {
    await ask(query);
    return [...heard];
  } finally {
    jest.restoreAllMocks();
  }
};

/** The smaller of two counts: now and then a cache of some seconds is refreshed. */
const fewest = async (query: string): Promise<number> =>
  Math.min((await sentBy(query)).length, (await sentBy(query)).length);

/** The fields of a type with their own access rule, as those that read have. */
const reading = (name: string): string[] => {
  const type = app.app.get(GraphQLSchemaHost).schema.getType(name);
  if (!isObjectType(type)) throw new Error(name);
  return Object.values(type.getFields())
    .filter(({ extensions }) => extensions[RULE])
    .map((field) => field.name);
};

const PROJECTS_ALONE: [query: string, readings: number] = ['{ projects { code } }', 1];

/** Queries of each reading of projects and of their drives, with the number of readings in it. */
const queries = (): [query: string, readings: number][] => [
  [DOCUMENTS, 4],
  ...reading('Project').map((name): [string, number] => [
    `{ projects { ${fieldOf(app, `Project.${name}`, 'P1')} } }`,
    2,
  ]),
  ...reading('Drive').map((name): [string, number] => [
    `{ projects { drives { ${fieldOf(app, `Drive.${name}`, 'P1')} } } }`,
    3,
  ]),
];

/** The documents of all shifts, with all their lists. */
const DOCUMENTS = `{ projects { drives { shifts { nodes { date document {
  strokes { number borings { from to } } activities { code } support { item } ground { groundClass } } } } } } }`;

/** All of them in one query. */
const whole = (): [query: string, readings: number] => {
  const of = (name: string): string[] => reading(name).map((each) => fieldOf(app, `${name}.${each}`, 'P1'));
  const [project, drive] = [of('Project'), of('Drive')];
  return [
    `{ projects { ${project.join(' ')} drives { ${drive.join(' ')} } } }`,
    2 + project.length + drive.length,
  ];
};

it('do not grow with projects, drives or shifts, for any field', async () => {
  const all = queries();
  expect(all.length).toBeGreaterThan(100);
  const asked = [PROJECTS_ALONE, ...all];
  const countAll = async (): Promise<[string, number][]> => {
    const counts: [string, number][] = [];
    for (const [query] of asked) counts.push([query, await fewest(query)]);
    return counts;
  };
  const few = await countAll();
  await grow();
  const many = await countAll();
  expect(many).toEqual(few);
  const over = many.filter(([, count], place) => count > BESIDE + (asked[place]?.[1] ?? 0));
  expect(over).toEqual([]);
  expect(many[0]).toEqual([PROJECTS_ALONE[0], 3]); // access, the reading with its opening, the end
});

it('are sent together in a few messages', async () => {
  const [query, readings] = whole();
  expect(readings).toBeGreaterThan(100);
  expect(await fewest(query)).toBeLessThan(15); // as many as for the deepest of them
});
