import { formatChainage, parseChainage } from '../engineering/chainage.js';
import type { ShiftDocument } from '../features/driving/shifts/shift-document.model.js';
import { localText, MINUTE } from './clock.js';
import type { DemoShift } from './scenario.js';
import { DRIVE } from './site.js';

const SECOND = 1000;
const EVERY = 10 * SECOND;
const REGRIP = 4 * MINUTE;

/** Difference between the crew's times, written to the minute, and the machine's clock. [ms] */
const apart = (stroke: number, edge: number): number => (((stroke * 37 + edge * 23) % 41) - 20) * SECOND;

interface Run {
  stroke: number;
  startMs: number;
  endMs: number;
  fromMm: number;
  toMm: number;
  boring: ShiftDocument['strokes'][number]['borings'][number];
}

const runsOf = ({ strokes }: ShiftDocument): Run[] =>
  strokes.flatMap(({ number, borings }) =>
    borings.map((boring) => ({
      stroke: number,
      startMs: Date.parse(boring.startedAt) + apart(number, 0),
      endMs: Date.parse(boring.endedAt) + apart(number, 1),
      fromMm: parseChainage(boring.from),
      toMm: parseChainage(boring.to),
      boring,
    })),
  );

/** Readings of the instruments while boring. */
const whileBoring = ({ boring, startMs, endMs, fromMm, toMm }: Run, atMs: number): object => {
  const minutes = (endMs - startMs) / MINUTE;
  const rateMmPerMin = Math.abs(toMm - fromMm) / minutes;
  return {
    chainage: formatChainage(Math.round(fromMm + ((toMm - fromMm) * (atMs - startMs)) / (endMs - startMs))),
    thrustKn: boring.thrustKn,
    torqueKnm: boring.torqueKnm,
    rotationRpm: boring.rotationRpm,
    penetrationRateMmPerMin: rateMmPerMin,
    gripperPressureBar: boring.gripperPressureBar,
    muckFlowTPerH: (Number(boring.muckMassT) / minutes) * 60,
  };
};

/** Readings between borings: between two strokes the grippers are released for some minutes. */
const whileStanding = (behind: Run | undefined, ahead: Run | undefined, atMs: number): object => {
  const isBetweenStrokes = behind && ahead && behind.stroke !== ahead.stroke;
  const sinceMs = atMs - (behind?.endMs ?? atMs);
  const isLoose = isBetweenStrokes && sinceMs >= MINUTE && sinceMs < MINUTE + REGRIP;
  return {
    chainage: formatChainage(behind?.toMm ?? ahead?.fromMm ?? parseChainage(DRIVE.input.startChainage)),
    thrustKn: isLoose ? 150 : 900,
    torqueKnm: 0,
    rotationRpm: 0,
    penetrationRateMmPerMin: 0,
    gripperPressureBar: isLoose ? 15 : 280,
    muckFlowTPerH: 0,
  };
};

/** The machine samples of a shift, every ten seconds: invented from what the crew posted. */
export const machineSamples = ({ document }: DemoShift): object[] => {
  const runs = runsOf(document);
  const [first, last] = [runs[0], runs.at(-1)];
  if (!first || !last) return [];
  const samples: object[] = [];
  for (let atMs = first.startMs - 5 * MINUTE; atMs < last.endMs + 5 * MINUTE; atMs += EVERY) {
    const run = runs.find(({ startMs, endMs }) => atMs >= startMs && atMs < endMs);
    const behind = runs.findLast(({ endMs }) => endMs <= atMs);
    const ahead = runs.find(({ startMs }) => startMs > atMs);
    samples.push({
      at: localText(atMs),
      ...(run ? whileBoring(run, atMs) : whileStanding(behind, ahead, atMs)),
    });
  }
  return samples;
};

/** The time span of the samples. */
export const sampledSpan = ({ document }: DemoShift): { from: string; to: string } => {
  const runs = runsOf(document);
  return {
    from: localText((runs[0]?.startMs ?? 0) - 5 * MINUTE),
    to: localText((runs.at(-1)?.endMs ?? 0) + 5 * MINUTE),
  };
};
