import { Decimal } from 'decimal.js';
import fc from 'fast-check';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { sized } from '../../harness/sizes.js';

// Means of strokes are exact: the float next to Σ x · l / Σ l by decimal.js with 60 digits, whatever the order of the rows, and as of a moment as now.

const Exact = Decimal.clone({ precision: 60 });

const BORINGS = 7;
/** One more than the random ones: see HARD. */
const STROKES = sized(8, 60) + 1;

/** With 7 borings of 8 minutes: as many as fit into the shift. */
const SHIFT_STROKES = 8;

const READINGS = {
  thrust_kn: 'thrustKn',
  torque_knm: 'torqueKnm',
  penetration_mm_per_rev: 'penetrationMmPerRev',
  gripper_pressure_bar: 'gripperPressureBar',
} as const;

interface Boring {
  stroke: number;
  fromMm: number;
  toMm: number;
  thrustKn: number;
  torqueKnm: number;
  penetrationMmPerRev: number;
  gripperPressureBar: number | undefined;
}

const reading = (most: number, decimals: number): fc.Arbitrary<number> =>
  fc
    .integer({ min: 10, max: most * 10 ** decimals }) // the service accepts none below 0.000 001
    .map((steps) => Number((steps / 10 ** decimals).toFixed(decimals)));

const aBoring = fc.record({
  lengthMm: fc.integer({ min: 1, max: 250 }),
  thrustKn: reading(9000, 3),
  torqueKnm: reading(2500, 7),
  penetrationMmPerRev: reading(9, 1),
  gripperPressureBar: fc.option(reading(200, 2), { nil: undefined }),
});

/** (0.834 · 13 100 + 0.833 · 13 696) / 1.667 = 13 397.821 235 752 849…: of 16 digits, as PostgreSQL divides unless asked, another float is the next. */
const HARD = [
  { lengthMm: 834, thrustKn: 13_100 },
  { lengthMm: 833, thrustKn: 13_696 },
].map((boring) => ({ ...boring, torqueKnm: 1500, penetrationMmPerRev: 8, gripperPressureBar: 200 }));

const chainage = (mm: number): string => `1+${(200 + mm / 1000).toFixed(3)}`;
const minutes = (n: number): string =>
  `${String(6 + Math.floor(n / 60)).padStart(2, '0')}:${String(n % 60).padStart(2, '0')}`;

let app: TestApp;
const borings: Boring[] = [];

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  let mm = 0;
  for (let stroke = 1; stroke <= STROKES; stroke += 1) {
    const made = stroke === STROKES ? HARD : fc.sample(aBoring, { numRuns: BORINGS, seed: stroke });
    for (const { lengthMm, ...readings } of made) {
      borings.push({ stroke, fromMm: mm, toMm: mm + lengthMm, ...readings });
      mm += lengthMm;
    }
  }
  for (let first = 0; first < STROKES; first += SHIFT_STROKES) {
    const date = new Date(Date.UTC(2027, 2, 1 + first / SHIFT_STROKES)).toISOString().slice(0, 10);
    const shift = aShift(date);
    const own = borings.filter(({ stroke }) => stroke > first && stroke <= first + SHIFT_STROKES);
    for (const [n, { stroke, fromMm, toMm, ...readings }] of own.entries())
      shift.withStroke(
        stroke,
        chainage(fromMm),
        chainage(toMm),
        minutes(8 * n),
        minutes(8 * n + 8),
        readings,
      );
    const { status, text } = await app.http
      .put(`/v1/projects/P1/drives/N/shifts/${date}/day`)
      .send(shift.build());
    expect([status, text]).toEqual([201, expect.anything()]);
  }
});

afterAll(() => app.close());

/** The float nearest to the exact mean of a stroke, over its borings with the reading. */
const meanOf = (stroke: number, name: keyof Boring): number | null => {
  const own = borings.filter((boring) => boring.stroke === stroke && boring[name] !== undefined);
  if (own.length === 0) return null;
  const length = own.reduce((sum, { fromMm, toMm }) => sum.plus(toMm - fromMm), new Exact(0));
  const sum = own.reduce(
    (total, boring) => total.plus(new Exact(Number(boring[name])).times(boring.toMm - boring.fromMm)),
    new Exact(0),
  );
  return Number(sum.div(length).toString());
};

const expected = (): object[] =>
  Array.from({ length: STROKES }, (_, n) => ({
    stroke_number: n + 1,
    ...Object.fromEntries(Object.entries(READINGS).map(([column, name]) => [column, meanOf(n + 1, name)])),
  }));

const strokes = (schema: string): Promise<object[]> =>
  app.sql(`select stroke_number, ${Object.keys(READINGS).join(', ')} from ${schema} order by stroke_number`);

it('are the float next to the exact mean, to the last bit', async () => {
  expect(await strokes('report.stroke')).toEqual(expected());
});

it('are the same in the sheet of the shift that bored the whole stroke', async () => {
  expect(await strokes('report.shift_stroke')).toEqual(expected());
});

it('do not depend on the order of the rows, so that as of a moment equals now', async () => {
  // rewritten rows are stored behind the others, in a different order than in the history
  await app.sql(`begin; set local session_replication_role = replica;
    create temp table kept on commit drop as select * from boring order by from_m desc;
    delete from boring; insert into boring select * from kept; commit`);
  expect(await strokes('report.stroke')).toEqual(expected());
  const [then] = await app.sql<{ at: string }>(`select clock_timestamp()::text as at`);
  const answer = async (asOf: string): Promise<unknown> =>
    (await app.http.get(`/v1/projects/P1/drives/N/strokes?first=1000${asOf}`)).body;
  const now = await answer('');
  expect(await answer(`&asOf=${encodeURIComponent(new Date(String(then?.at)).toISOString())}`)).toEqual(now);
});

it('are answered with 12 digits', async () => {
  const { items } = (await app.http.get('/v1/projects/P1/drives/N/strokes?first=1000')).body as {
    items: { number: number; torqueKnm: number }[];
  };
  expect(items.map(({ torqueKnm }) => torqueKnm)).toEqual(
    Array.from({ length: STROKES }, (_, n) => Number(Number(meanOf(n + 1, 'torqueKnm')).toPrecision(12))),
  );
});
