import { aProject, PROJECT } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { foundAt } from '../../harness/service-role.js';
import { sized } from '../../harness/sizes.js';
import { edits } from './edits.js';

let app: TestApp;
let before: string;

beforeAll(async () => {
  app = await startApp({ GRAPHQL_MAX_COST: '1000000' });
  before = new Date().toISOString();
  await aProject(app);
});

afterAll(() => app.close());

const DRIVE = `/v1/projects/${PROJECT}/drives/N`;

/** Everything reported of a project's record, in one query, compiled once; as of a moment or now. */
const EVERYTHING = `query ($asOf: Instant) {
  projects(asOf: $asOf) { code }
  project(project: "${PROJECT}", asOf: $asOf) {
    name timeZone dayStart currency
    calendarShifts { name startTime } activityCodes { code countsAs } groundClasses { code description }
    supportItems { code kind unit } machines { code discCount }
    drives {
      code startChainage lengthM machine
      progress { faceChainage boredM missingM untimedM strokeCount lastBoredAt }
      strokes(first: 100) { nodes { number from to lengthM boringHours thrustPerDiscKn torqueRatio } }
      strokePerformance(first: 100) { nodes { number powerKw regripMinutes cycleMinutes groundClass } } strokeFlags { detail }
      strokeStatistics(by: ground_class) { groundClass quantity strokeCount mean p90 lengthWeightedMean }
      muck(first: 100) { nodes { number bankVolumeM3 unanswered } } muckProgress { bankVolumeM3 ratio }
      advanceByShift { date shift state advanceM cumulativeM faceChainage }
      advanceByDay { productionDay advanceM boringHours }
      programmes { programme pointCount toChainage }
      groundLogs { nodes { name to q { q qClass } } } rockMass { rating class coverage lengthM }
      supportQuantities { item zone quantity rowCount }
      supportQuantitiesByDay { productionDay item quantity }
      supportQuantitiesByGroundClass { groundClass item quantity }
      supportQuantitiesByInterval(lengthM: 4) { from to item quantity }
      supportMeasures { items { item zone quantity totalLengthM massKg missing } }
      asBuilt(from: "1+200", to: "1+230") {
        strokes { number from date shift } ground { groundClass from to lithology } support { item quantityWithin }
      }
      openItems { kind detail }
      discontinuities { nodes { name chainage } } discontinuitySets { sets { set count meanDipDeg eigenvalue2 concentration } }
      overbreak { nodes { name volumeM3 } } overbreakQuantities { volumeM3 surveyedM } overbreakQuantitiesByInterval { from volumeM3 }
      probeHoles { name reach } probeCover { coverM holeCount }
    }
  }
}`;

const REST = [
  '',
  '/progress',
  '/strokes',
  '/advance/days',
  '/advance/weeks',
  '/advance/months',
  '/advance/quarters',
  '/advance/trend',
  '/advance/best',
  '/advance/learning',
  '/advance/rolling?hours=12',
  '/advance/window?from=2027-03-01T06:30:00Z&to=2027-03-02T18:10:00Z',
  '/face?at=2027-03-03T06:00:00Z',
  '/programmes/PLAN/progress',
  '/open-items',
  '/as-built?from=1200&to=1230',
  '/shifts/2027-03-01/day',
  '/ground-logs',
  '/rock-mass/intervals?lengthM=5',
  '/discontinuities/sets',
  '/stereonet.svg',
  '/overbreak-quantities/intervals?lengthM=3',
];

interface Snapshot {
  at: string;
  graphql: string;
  rest: string[];
}

const ask = async (asOf?: string): Promise<string> =>
  (await app.http.post('/graphql').send({ query: EVERYTHING, variables: { asOf } })).text;

const pathAsOf = (path: string, at: string): string =>
  `${DRIVE}${path}${path.includes('?') ? '&' : '?'}asOf=${at}`;

/** Number of edits of the record, one after the other. */
const EDITS = sized(40, 300);

/** Number of edits between readings. */
const STEP = sized(6, 1);

/** Number of edits between readings by REST. */
const REST_STEP = sized(48, 25);

describe(`${EDITS} random edits`, () => {
  it('are read as of every instant as they were read then', async () => {
    const snapshots: Snapshot[] = [];
    for (const [index, edit] of edits(EDITS).entries()) {
      await edit(app);
      if (index % STEP !== 0) continue;
      const at = new Date().toISOString();
      const rest = index % REST_STEP === 0 ? REST : [];
      snapshots.push({
        at,
        graphql: await ask(),
        rest: await Promise.all(rest.map(async (path) => (await app.http.get(`${DRIVE}${path}`)).text)),
      });
    }
    const states = new Set(
      snapshots.flatMap(({ graphql }) => [...graphql.matchAll(/"state":"(\w+)"/g)].map(([, state]) => state)),
    );
    expect(snapshots[0]?.graphql.slice(0, 400)).not.toContain('errors');
    expect([...states].sort()).toEqual(['countersigned', 'draft', 'submitted']);
    expect(new Set(snapshots.map(({ graphql }) => graphql)).size).toBeGreaterThan(0.4 * snapshots.length);
    for (const { at, graphql, rest } of snapshots) {
      expect(await ask(at)).toBe(graphql);
      for (const [index, text] of rest.entries())
        expect((await app.http.get(pathAsOf(REST[index] ?? '', at))).text).toBe(text);
    }
  });

  it('show nothing before the first of them', async () => {
    const { status, body } = await app.http.get(pathAsOf('/progress', before));
    expect([status, body.detail]).toEqual([404, `There is no drive N in project ${PROJECT}.`]);
  });

  it('are listed as changes up to the last one', async () => {
    const [last] = await foundAt(
      app,
      new Date().toISOString(),
      'select (select max(number) from report.change) as read, (select max(number) from history.change) as made',
    );
    expect(last).toEqual({ read: expect.any(String), made: last?.['read'] });
  });
});
