import { samplesOf, toleranceOf, trueStrokes } from './strokes-as-samples.js';
import { Trial } from './trial.js';
import { uploadLines } from './samples.js';

// The whole chain: published strokes → samples of a logger → upload → proposal → acceptance → the record. Erharter et al., MIT
// licence, doi 10.1007/s00603-025-04542-4; the machine of the trial project is the table's machine A.

let trial: Trial;

beforeAll(async () => {
  trial = await Trial.start();
});

afterAll(() => trial.app.close());

interface Proposed {
  stroke: number;
  startedAt: string;
  endedAt: string;
  thrustKn: number;
  torqueKnm: number;
  penetrationMmPerRev: number;
}

interface Booked {
  number: number;
  fromMm: number;
  toMm: number;
  torqueRatio: number;
  regular: boolean;
  samples: number;
}

const DAY_MS = 86_400_000;

describe.each([
  [10, Infinity],
  [1, 3],
])('strokes sampled every %i s', (intervalS, most) => {
  const strokes = trueStrokes(most);
  let proposed: Proposed[];
  let booked: Booked[];

  /** Whether a figure is correct within the error caused by sampling. */
  const near = (found: number, truth: number, tolerance: number): boolean =>
    Math.abs(found - truth) <= truth * tolerance;

  beforeAll(async () => {
    await trial.nextDrive();
    const samples = samplesOf(strokes, intervalS);
    const sent = await uploadLines(trial.app, samples, `${trial.drive}/samples`);
    expect(sent.body).toMatchObject({ taken: samples.length, rejected: 0 });
    const [from, to] = [strokes[0]?.startedAtMs ?? 0, strokes.at(-1)?.endedAtMs ?? 0];
    const span = {
      from: new Date(from - DAY_MS / 24).toISOString(),
      to: new Date(to + DAY_MS / 24).toISOString(),
    };
    const { status, body } = await trial.propose(span);
    expect([status, body.remarks]).toEqual([201, []]);
    proposed = body.borings;
    const accepted = await trial.accept(body.number, body.etag, { firstNumber: 0 });
    expect(accepted.status).toBe(200);
    booked = (await trial.sql(
      `select s.stroke_number as number, (s.from_m * 1000)::int as "fromMm", (s.to_m * 1000)::int as "toMm", s.torque_ratio as "torqueRatio",
         s.regular_advance as regular, k.sample_count as samples
       from report.stroke s join report.stroke_samples k on k.drive_id = s.drive_id and k.stroke_number = s.stroke_number
       where s.drive_id = $1 order by 1`,
    )) as unknown as Booked[];
  });

  it('are found again, each whole and to the millimetre', () => {
    expect(booked.map(({ number, fromMm, toMm }) => [number, fromMm, toMm])).toEqual(
      strokes.map(({ fromMm, toMm }, index) => [index, fromMm, toMm]),
    );
  });

  it('begin and end when they did, within the rounding of positions to the millimetre', () => {
    const late = strokes.flatMap((truth, index) => {
      const { startedAt = '', endedAt = '' } = proposed[index] ?? {};
      const slowest = (truth.toMm - truth.fromMm) / (truth.endedAtMs - truth.startedAtMs); // mm/ms
      const toleranceMs = 1 / slowest + 20 * intervalS;
      return [Date.parse(startedAt) - truth.startedAtMs, Date.parse(endedAt) - truth.endedAtMs].filter(
        (ms) => !(Math.abs(ms) <= toleranceMs),
      );
    });
    expect(late).toEqual([]);
  });

  it('have their means', () => {
    const differing = strokes.flatMap((truth, index) =>
      (['thrustKn', 'torqueKnm', 'penetrationMmPerRev'] as const).filter(
        (name) => !near(proposed[index]?.[name] ?? NaN, truth[name], toleranceOf(truth, intervalS)),
      ),
    );
    expect(differing).toEqual([]);
  });

  it('have the published torque ratio, and its class except at the bounds', () => {
    const differing = strokes.filter((truth, index) => {
      const { torqueRatio = NaN, regular } = booked[index] ?? {};
      // torque, thrust and half of the penetration: the ratio is T / (c · F · √p + M0), about
      const tolerance = 2.5 * toleranceOf(truth, intervalS);
      const atBound = [0.35, 0.57].some((bound) => near(bound, truth.torqueRatio, tolerance));
      return !near(torqueRatio, truth.torqueRatio, tolerance) || (!atBound && regular !== truth.regular);
    });
    expect(differing).toEqual([]);
  });

  it('have their samples, and are stored as proposed', async () => {
    const expected = strokes.map(
      ({ startedAtMs, endedAtMs }) => (endedAtMs - startedAtMs) / 1000 / intervalS,
    );
    expect(booked.filter(({ samples }, index) => Math.abs(samples - (expected[index] ?? NaN)) > 2)).toEqual(
      [],
    );
    const { body } = await trial.get(`${trial.drive}/progress`);
    const metres = ((strokes.at(-1)?.toMm ?? 0) / 1000).toFixed(3);
    expect(body).toMatchObject({ faceM: metres, boredM: metres, strokeCount: strokes.length });
    const again = await trial.get(`${trial.proposals}/1`);
    const differences = again.body.borings.map(
      ({ posted }: { posted: Record<string, unknown> }) =>
        `${posted.fromDifferenceMm} ${posted.toDifferenceMm} ${posted.startDifferenceMin} ${posted.endDifferenceMin}`,
    );
    expect(new Set(differences)).toEqual(new Set(['0 0 0.000 0.000']));
  });
});
