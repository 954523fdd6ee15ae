import fc from 'fast-check';
import type { MachineSample } from '../../src/engineering/sample-means.js';

// The true course of a drive, second by second, and what instruments would have recorded.

/** What the machine did, phase by phase. A dip is a stop too short to end a boring. */
export type Phase =
  | { kind: 'bore'; s: number; rateMmPerMin: number; thrustKn: number }
  | { kind: 'dip' | 'pause' | 'regrip'; s: number };

export interface TrueBoring {
  stroke: number;
  fromMm: number;
  toMm: number;
  startedAtMs: number;
  endedAtMs: number;
}

const START_MS = Date.UTC(2027, 2, 1, 6);

/** The borings of the phases, derived from the phases alone. */
export const trueBorings = (phases: Phase[], startMm = 0): TrueBoring[] => {
  const borings: TrueBoring[] = [];
  let [atMs, mm, stroke, isOpen] = [START_MS, startMm, 1, false];
  for (const phase of phases) {
    if (phase.kind === 'bore') {
      const boredMm = (phase.rateMmPerMin * phase.s) / 60;
      const last = borings.at(-1);
      const endedAtMs = atMs + phase.s * 1000;
      if (isOpen && last) Object.assign(last, { toMm: mm + boredMm, endedAtMs });
      else borings.push({ stroke, fromMm: mm, toMm: mm + boredMm, startedAtMs: atMs, endedAtMs });
      mm += boredMm;
      isOpen = true;
    } else if (phase.kind !== 'dip') isOpen = false;
    if (phase.kind === 'regrip') stroke += 1;
    atMs += phase.s * 1000;
  }
  return borings;
};

export interface Instruments {
  intervalS: number;
  /** amplitude of the noise: of the position [mm], of rate and thrust as a part of the reading [-] */
  positionNoiseMm: number;
  readingNoise: number;
  /** lost samples per 1,000, at most two in a row */
  lostPerMille: number;
  hasGrippers: boolean;
  /** a stream of numbers from 0 to 1 */
  random: () => number;
}

/** A small random generator of the test's own, so that a case can be repeated by its seed (mulberry32). */
export const randomFrom = (seed: number): (() => number) => {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
};

/** Readings other than position, by phase: the grippers are released only in a regrip. */
const readings = (phase: Phase, hasGrippers: boolean, noisy: (value: number) => number) => {
  const isBoring = phase.kind === 'bore';
  return {
    thrustKn: isBoring ? noisy(phase.thrustKn) : phase.kind === 'regrip' ? noisy(100) : noisy(900),
    torqueKnm: isBoring ? noisy(1500) : noisy(10),
    rotationRpm: isBoring ? noisy(6) : 0,
    penetrationRateMmPerMin: isBoring ? noisy(phase.rateMmPerMin) : noisy(0.5),
    gripperPressureBar: hasGrippers ? noisy(phase.kind === 'regrip' ? 20 : 280) : null,
    muckFlowTPerH: isBoring ? noisy(400) : noisy(2),
  };
};

/** The recorded samples, from two minutes of standstill before the first phase to two minutes after the last. */
export const sampled = (
  phases: Phase[],
  { intervalS, positionNoiseMm, readingNoise, lostPerMille, hasGrippers, random }: Instruments,
  startMm = 0,
): MachineSample[] => {
  const noise = (): number => 2 * random() - 1;
  const noisy = (value: number): number => value * (1 + readingNoise * noise());
  const samples: MachineSample[] = [];
  let [beganAtMs, mm, lost] = [START_MS, startMm, 0];
  const still: Phase = { kind: 'pause', s: 120 };
  let atMs = START_MS - still.s * 1000 + Math.floor(random() * intervalS * 1000);
  const note = (phase: Phase, positionMm: number): void => {
    if (lost < 2 && random() * 1000 < lostPerMille) lost += 1;
    else {
      lost = 0;
      const noted = Math.round(positionMm + positionNoiseMm * noise());
      samples.push({ atMs, positionMm: noted, ...readings(phase, hasGrippers, noisy) });
    }
    atMs += intervalS * 1000;
  };
  while (atMs < beganAtMs) note(still, mm);
  for (const phase of [...phases, still]) {
    const endsAtMs = beganAtMs + phase.s * 1000;
    const rate = phase.kind === 'bore' ? phase.rateMmPerMin : 0;
    while (atMs < endsAtMs) note(phase, mm + (rate * (atMs - beganAtMs)) / 60_000);
    mm += (rate * phase.s) / 60;
    beganAtMs = endsAtMs;
  }
  return samples;
};

const bore = fc
  .record({
    s: fc.integer({ min: 150, max: 900 }),
    rateMmPerMin: fc.integer({ min: 20, max: 80 }),
    thrustKn: fc.integer({ min: 4000, max: 16000 }),
  })
  .map((figures): Phase => ({ kind: 'bore', ...figures }));

const stop = (kind: 'dip' | 'pause' | 'regrip', min: number, max: number): fc.Arbitrary<Phase> =>
  fc.integer({ min, max }).map((s) => ({ kind, s }));

/** A stroke: borings with dips and pauses between them, and the regrip after it. */
const stroke: fc.Arbitrary<Phase[]> = fc
  .tuple(
    fc.array(fc.tuple(bore, fc.oneof(stop('dip', 1, 8), stop('pause', 100, 400))), { maxLength: 3 }),
    bore,
    stop('regrip', 120, 400),
  )
  .map(([pieces, last, regrip]) => [...pieces.flat(), last, regrip]);

export const strokes: fc.Arbitrary<Phase[]> = fc
  .array(stroke, { minLength: 1, maxLength: 4 })
  .map((all) => all.flat());

export const instruments: fc.Arbitrary<Instruments> = fc
  .record({
    intervalS: fc.constantFrom(1, 10),
    positionNoiseMm: fc.constantFrom(0, 2),
    readingNoise: fc.constantFrom(0, 0.1),
    lostPerMille: fc.constantFrom(0, 50),
    hasGrippers: fc.boolean(),
    seed: fc.integer(),
  })
  .map(({ seed, ...figures }) => ({ ...figures, random: randomFrom(seed) }));
