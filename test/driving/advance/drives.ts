import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import type { TestApp } from '../../harness/app.js';
import { type NaiveBoring, isTimed } from './naive-face.js';
import { instant, type Season, SEASONS } from './season.js';

export type Direction = 1 | -1;

const START_MM = 50_000_000;

export const chainageOf = (direction: Direction, mm: number): string =>
  formatChainage(START_MM + direction * mm);

export const metres = (mm: number): string => (mm / 1000).toFixed(3);

export const millimetres = (text: string): number => Math.round(Number(text) * 1000);

/** Number of drives in each service. */
const counts = new WeakMap<TestApp, number>();

export interface TrialDrive {
  id: number;
  url: string;
}

/** A drive of 40 km, by SQL. */
export const newDrive = async (
  app: TestApp,
  project: string,
  direction: Direction = 1,
): Promise<TrialDrive> => {
  const drives = (counts.get(app) ?? 0) + 1;
  counts.set(app, drives);
  const [drive] = await app.sql<{ id: number }>(
    `insert into drive (project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m)
     select id, $1, 'Trial', 50000, 50000 + $2::int * 40000, $2, 7 from project where code = $3 returning id`,
    [`D${drives}`, direction, project],
  );
  if (!drive) throw new Error(project);
  return { id: drive.id, url: `/v1/projects/${project}/drives/D${drives}` };
};

/** Borings as imported: without a shift. */
export const insertBorings = async (
  app: TestApp,
  { id }: TrialDrive,
  season: Season,
  borings: NaiveBoring[],
): Promise<void> => {
  const rows = borings.map((boring) => ({
    stroke: boring.stroke,
    from: boring.from / 1000,
    to: boring.to / 1000,
    start: isTimed(boring) ? instant(season, boring.start) : null,
    end: isTimed(boring) ? instant(season, boring.end) : null,
  }));
  await app.sql(
    `insert into boring (drive_id, stroke_number, from_m, to_m, started_at, ended_at)
     select $1, r.stroke, r."from", r."to", r.start, r."end"
     from jsonb_to_recordset($2) as r(stroke int, "from" numeric, "to" numeric, start timestamptz, "end" timestamptz)`,
    [id, JSON.stringify(rows)],
  );
};

interface Piece {
  wait: number;
  lasts: number;
  mm: number;
  missing: number;
  timed: boolean;
  goesOn: boolean;
}

const HOUR = 3600;

/** Borings one after the other along the drive and in time; a continuation belongs to the stroke before it. */
const laid = (offset: number, pieces: Piece[], end: number): NaiveBoring[] => {
  const borings: NaiveBoring[] = [];
  let [second, face, stroke] = [offset, 0, 0];
  for (const { wait, lasts, mm, missing, timed, goesOn } of pieces) {
    const from = face + missing;
    if (!goesOn) stroke += 1;
    face = from + mm;
    if (timed && second + wait + lasts > end) break;
    borings.push({
      stroke,
      from,
      to: face,
      ...(timed && { start: second + wait, end: second + wait + lasts }),
    });
    if (timed) second += wait + lasts;
  }
  return borings;
};

const direction = fc.constantFrom<Direction>(1, -1);

const oneIn = (n: number): fc.Arbitrary<boolean> => fc.nat({ max: n - 1 }).map((i) => i === 0);

export interface Trial {
  season: Season;
  project: string;
  way: Direction;
  borings: NaiveBoring[];
}

/** Some borings over up to three weeks: pauses of up to four days, metres without times, missing metres. */
const trialOf = (piece: fc.Arbitrary<Piece>, projects: string[], unit: number): fc.Arbitrary<Trial> =>
  fc
    .record({
      season: fc.constantFrom(...SEASONS),
      project: fc.constantFrom(...projects),
      way: direction,
      offset: fc.nat({ max: (5 * 24 * HOUR) / unit }).map((n) => n * unit),
      pieces: fc.array(piece, { minLength: 1, maxLength: 14 }),
    })
    .map(({ offset, pieces, season, ...rest }) => ({
      ...rest,
      season,
      borings: laid(offset, pieces, (season.minutes - 2 * 1440) * 60),
    }))
    .filter(({ borings }) => borings.some(isTimed));

const waits = (unit: number): fc.Arbitrary<number> =>
  fc
    .oneof(fc.constant(0), fc.nat({ max: 3 * HOUR }), fc.nat({ max: 96 * HOUR }))
    .map((seconds) => seconds - (seconds % unit));

/** To the second, of any length, so that positions need rounding. */
export const anyTrial = (projects: string[]): fc.Arbitrary<Trial> =>
  trialOf(
    fc.record({
      wait: waits(1),
      lasts: fc.integer({ min: 1, max: 2 * HOUR }),
      mm: fc.integer({ min: 1, max: 4000 }),
      missing: oneIn(6).map((is) => (is ? 250 : 0)),
      timed: oneIn(6).map((is) => !is),
      goesOn: oneIn(3),
    }),
    projects,
    1,
  );

/** Whole minutes at whole millimetres per minute, so that no position at a minute is rounded. */
export const evenTrial = (projects: string[]): fc.Arbitrary<Trial> =>
  trialOf(
    fc
      .record({
        wait: waits(60),
        minutes: fc.integer({ min: 1, max: 180 }),
        rate: fc.integer({ min: 1, max: 3 }).map((n) => n * 20),
        missing: oneIn(6).map((is) => (is ? 250 : 0)),
        timed: oneIn(6).map((is) => !is),
        goesOn: fc.constant(false),
      })
      .map(({ minutes, rate, ...rest }) => ({ ...rest, lasts: minutes * 60, mm: minutes * rate })),
    projects,
    60,
  );
