import { Database } from '../../src/common/database/database.js';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { sized } from '../harness/sizes.js';
import { until } from '../harness/until.js';

// Many requests of three projects share two connections. The projects use the same codes; they differ in their own code and in the kilometre of
// their chainages.

const KILOMETRES: Record<string, number> = { 'SITE-A': 1, 'SITE-B': 2, 'SITE-C': 3 };
const PROJECTS = Object.keys(KILOMETRES);
const COUNT = sized(30, 200);

interface Answer {
  status: number;
  text: string;
  body: { data?: Record<string, unknown>; [name: string]: unknown };
}

interface Request {
  name: string;
  project: string;
  send(): PromiseLike<Answer>;
  /** HTTP status; for a GraphQL error, the status of its problem. */
  status: number;
}

/** The scope of a transaction, as one text. */
const SETTINGS = ['project', 'actor', 'credential', 'reason', 'request', 'as_of_change']
  .map((name) => `coalesce(current_setting('drivebook.${name}', true), '')`)
  .join(' || ');

let app: TestApp;
let loadedAt: string;

const at = (project: string, metres: string): string => `${KILOMETRES[project]}+${metres}`;
const drive = (project: string): string => `/v1/projects/${project}/drives/N`;
const shift = (project: string): string => `${drive(project)}/shifts/2027-03-01/day`;

const document = (project: string, to = '003') => ({
  ...aShift()
    .withStroke(1, at(project, '000'), at(project, to), '06:00', '07:00')
    .withStroke(2, at(project, '005'), at(project, '006'), '07:00', '08:00')
    .withActivity('BORE', '06:00', '07:00')
    .withSupport('BOLT', at(project, '000'), at(project, to), '8')
    .withGround('A', at(project, '000'), at(project, to))
    .build(),
  crewLead: `lead of ${project}`,
});

beforeAll(async () => {
  app = await startApp({ DATABASE_POOL_SIZE: '2', GRAPHQL_MAX_COST: '1000000' });
  for (const project of PROJECTS) {
    await aProject(app, { project }, { startChainage: at(project, '000'), endChainage: at(project, '900') });
    const { status } = await app.http.put(shift(project)).send(document(project));
    if (status !== 201) throw new Error(`shift of ${project}: ${status}`);
  }
  loadedAt = new Date().toISOString();
});

afterAll(() => app.close());

const graphql = (query: string): PromiseLike<Answer> => app.http.post('/graphql').send({ query });

const inGraphql = (project: string): string => `project(project: "${project}") {
  code
  drives { project code startChainage progress { faceChainage boredM } strokes { nodes { number from to } }
    advanceByShift { date shift fromChainage faceChainage } openItems { kind detail } supportQuantitiesByDay { item quantity } }
}`;

const shiftInGraphql = (project: string): string =>
  `shift(project: "${project}", drive: "N", date: "2027-03-01", shift: "day") { etag document { crewLead strokes { borings { from to } } } }`;

const hole = (project: string, metres = '100') => ({
  collar: at(project, metres),
  lookOutDeg: '5',
  drilledAt: '2021-03-01T12:00:00Z',
  lengthM: '30',
});

const putHole = (project: string, name: string, metres: string): string =>
  `mutation { putProbeHole(project: "${project}", drive: "N", name: "${name}",
    input: { collar: "${at(project, metres)}", lookOutDeg: "5", lengthM: "30", drilledAt: "2021-03-01T12:00:00Z" }) { name collar reach } }`;

const reads = (project: string): Request[] => [
  ...[
    `/v1/projects/${project}`,
    `/v1/projects/${project}/drives`,
    `${drive(project)}/progress`,
    `${drive(project)}/strokes`,
    `${drive(project)}/open-items`,
    shift(project),
    `${drive(project)}/progress?asOf=${loadedAt}`,
  ].map((url) => ({ name: url, project, status: 200, send: () => app.http.get(url) })),
  ...[inGraphql(project), shiftInGraphql(project)].map((query) => ({
    name: query,
    project,
    status: 200,
    send: () => graphql(`{ ${query} }`),
  })),
];

const writes = (project: string, index: number): Request[] =>
  [
    {
      name: 'a probe hole',
      status: 201,
      send: () => app.http.put(`${drive(project)}/probe-holes/H${index}`).send(hole(project)),
    },
    { name: 'the shift again', send: () => app.http.put(shift(project)).send(document(project)) },
    { name: 'a probe hole by GraphQL', send: () => graphql(putHole(project, `G${index}`, '200')) },
  ].map((request) => ({ status: 200, ...request, project }));

const failures = (project: string): Request[] =>
  [
    { status: 404, send: () => app.http.get(`/v1/projects/${project}/drives/NONE`) },
    { status: 404, send: () => app.http.get(`${drive(project)}ONE/progress`) },
    { status: 404, send: () => graphql(`{ drive(project: "${project}", drive: "NONE") { code } }`) },
    { status: 404, send: () => app.http.delete(shift(project).replace('01/day', '09/day')) },
    {
      status: 422,
      send: () => app.http.put(`${drive(project)}/probe-holes/BAD`).send(hole(project, '999')),
    },
    { status: 422, send: () => graphql(putHole(project, 'BAD', '999')) },
    // the statement itself fails: unknown time zone, a code with time booked on it, metres bored twice
    {
      status: 422,
      send: () =>
        app.http
          .put(`/v1/projects/${project}`)
          .send({ name: 'Trial', timeZone: 'Nowhere/Land', dayStart: '06:00', currency: 'EUR' }),
    },
    {
      status: 409,
      send: () =>
        graphql(`mutation { putActivityCode(project: "${project}", code: "BORE",
          input: { description: "Boring", countsAs: waiting }) { code } }`),
    },
    {
      status: 409,
      send: () => app.http.put(shift(project).replace('day', 'night')).send(twice(project)),
    },
    { status: 428, send: () => app.http.put(shift(project)).send(document(project, '004')) },
  ].map((request, index) => ({ ...request, name: `failure ${index}`, project }));

const twice = (project: string) =>
  aShift('2027-03-01', 'night')
    .withStroke(3, at(project, '001'), at(project, '004'), '19:00', '20:00')
    .build();

const statusOf = ({ status, body }: Answer): unknown => {
  const [error] = (body.errors ?? []) as { extensions?: { status?: number } }[];
  return error?.extensions?.status ?? status;
};

/** Which projects an answer reveals: their codes and the kilometres of chainages. */
const marksOf = (text: string): string[] => [
  ...new Set([
    ...(text.match(/SITE-[A-C]/g) ?? []),
    ...Array.from(text.matchAll(/\b(\d)\+\d{3}/g), ([, km]) => PROJECTS[Number(km) - 1] ?? `kilometre ${km}`),
  ]),
];

/** Sends all at once. Each answer must have its expected status and reveal its own project only. */
const together = async (requests: Request[]): Promise<Answer[]> => {
  const answers = await Promise.all(requests.map(({ send }) => send()));
  const outcomes = answers.map((answer, index) => ({
    name: requests[index]?.name,
    status: statusOf(answer),
    others: marksOf(answer.text).filter((mark) => mark !== requests[index]?.project),
  }));
  expect(outcomes).toEqual(requests.map(({ name, status }) => ({ name, status, others: [] })));
  return answers;
};

const rotated = <T>(lists: T[][]): T[] =>
  Array.from({ length: Math.max(...lists.map(({ length }) => length)) }, (_, index) =>
    lists.flatMap((list) => list.slice(index, index + 1)),
  ).flat();

const allReads = (): Request[] => rotated(PROJECTS.map(reads));

/** The answers to each reading, requested one after the other. */
const quietly = async (): Promise<unknown[]> => {
  const bodies: unknown[] = [];
  for (const request of allReads()) bodies.push(...(await together([request])).map(({ body }) => body));
  return bodies;
};

describe('requests of several projects over two connections', () => {
  let expected: unknown[];

  beforeAll(async () => {
    expected = await quietly();
  });

  it('report their own project: each reading differs by project', () => {
    for (let index = 0; index < expected.length; index += PROJECTS.length) {
      const bodies = expected.slice(index, index + PROJECTS.length).map((body) => JSON.stringify(body));
      expect(new Set(bodies).size).toBe(PROJECTS.length);
    }
  });

  it(`each get their own answer, ${COUNT} at a time, reading, writing and failing`, async () => {
    const mixed: Request[] = [];
    for (let round = 0; mixed.length < COUNT; round += 1)
      mixed.push(
        ...rotated([
          ...PROJECTS.map(reads),
          ...PROJECTS.map((project) => writes(project, round)),
          ...PROJECTS.map(failures),
        ]),
      );
    await together(mixed.slice(0, COUNT));
  });

  it('each get their own answer after any failure, with the same content as before', async () => {
    for (const [kind] of failures('').entries()) {
      await together(PROJECTS.flatMap((project) => failures(project).slice(kind, kind + 1)));
      await together(PROJECTS.flatMap((project) => writes(project, COUNT + kind)));
    }
    await together(Array.from({ length: 4 }, () => rotated(PROJECTS.map(failures))).flat());
    const answers = await together(allReads());
    expect(answers.map(({ body }) => body)).toEqual(expected);
    expect(await quietly()).toEqual(expected);
  });

  it('wrote to their own project only', async () => {
    const holes = await app.sql<{ code: string; name: string; km: number }>(
      `select p.code, h.name, trunc((d.start_chainage_m + h.collar_m) / 1000)::int as km
       from probe_hole h join drive d on d.id = h.drive_id join project p on p.id = h.project_id order by 1, 2`,
    );
    expect(holes.length).toBeGreaterThan(PROJECTS.length * 2);
    expect(holes.filter(({ code, km }) => KILOMETRES[code] !== km)).toEqual([]);
    expect(holes.filter(({ name }) => name === 'BAD')).toEqual([]);
    const actors = await app.sql('select distinct actor from history.change');
    expect(actors).toEqual([{ actor: 'local' }]);
  });

  it('leave no scope set in a connection', async () => {
    const database = app.app.get(Database);
    const left: { pid: number; left: string }[] = [];
    await until(async () => {
      const asked = Array.from({ length: 20 }, () =>
        database.ask<{ pid: number; left: string }>(
          `select pg_backend_pid() as pid, ${SETTINGS} || current_setting('search_path') as left, pg_sleep(0.01)::text`,
        ),
      );
      left.push(...(await Promise.all(asked)).flat());
      return new Set(left.map(({ pid }) => pid)).size >= 2; // one of them may be newly opened
    });
    expect(new Set(left.map((row) => row.left))).toEqual(new Set(['report,public']));
  });
});

describe('one GraphQL request for several projects', () => {
  it('answers each alias from its own project, nested fields included', async () => {
    const alias = (project: string, index: number): string =>
      `p${index}: ${inGraphql(project)} s${index}: ${shiftInGraphql(project)}`;
    const { body } = await graphql(`{ ${[...PROJECTS, ...PROJECTS].map(alias).join(' ')} }`);
    expect(body.errors).toBeUndefined();
    for (const [index, project] of [...PROJECTS, ...PROJECTS].entries()) {
      const own = [body.data?.[`p${index}`], body.data?.[`s${index}`]];
      expect(own).toMatchObject([
        {
          code: project,
          drives: [
            {
              project,
              startChainage: at(project, '000.000'),
              progress: { faceChainage: at(project, '006.000'), boredM: '4.000' },
              strokes: { nodes: [{ to: at(project, '003.000') }, { to: at(project, '006.000') }] },
              advanceByShift: [{ shift: 'day', fromChainage: at(project, '000.000') }],
            },
          ],
        },
        {
          document: {
            crewLead: `lead of ${project}`,
            strokes: [
              { borings: [{ to: at(project, '003.000') }] },
              { borings: [{ to: at(project, '006.000') }] },
            ],
          },
        },
      ]);
      expect(marksOf(JSON.stringify(own))).toEqual([project]);
    }
  });

  it('answers the list of all projects in the same way', async () => {
    const { body } = await graphql(
      '{ projects { code drives { project startChainage strokes { nodes { to } } } } }',
    );
    expect(body.data).toEqual({
      projects: PROJECTS.map((project) => ({
        code: project,
        drives: [
          {
            project,
            startChainage: at(project, '000.000'),
            strokes: { nodes: [{ to: at(project, '003.000') }, { to: at(project, '006.000') }] },
          },
        ],
      })),
    });
  });

  it('writes by each alias to its own project, and each fails alone', async () => {
    const mutation = (project: string, name: string, metres: string): string =>
      putHole(project, name, metres).replace(/^mutation \{ (.*) \}$/s, '$1');
    const [a, b, c] = PROJECTS as [string, string, string];
    const { body } = await graphql(`mutation {
      a: ${mutation(a, 'ALIAS', '300')} c: ${mutation(c, 'ALIAS', '300')} b: ${mutation(b, 'ALIAS', '999')} }`);
    const [error] = body.errors as { path: string[]; message: string }[];
    expect([error?.path, marksOf(error?.message ?? '')]).toEqual([['b'], [b]]);
    const holes = await app.sql(
      `select p.code, p.id = d.project_id as own from probe_hole h join drive d on d.id = h.drive_id
        join project p on p.id = h.project_id where h.name = 'ALIAS' order by 1`,
    );
    const written = (project: string) =>
      expect.objectContaining({ name: 'ALIAS', collar: at(project, '300.000') });
    expect([body.data, holes]).toEqual([
      { a: written(a), b: null, c: written(c) },
      [
        { code: a, own: true },
        { code: c, own: true },
      ],
    ]);
  });
});
