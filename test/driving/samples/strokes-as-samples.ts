import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';

// What a logger would have recorded while published strokes were bored one after the other. The published table has no times: the
// times, the waves about its means and the regrips are invented.

/** The open table if it is named, otherwise the twelve rows beside the engineering tests. */
const FILE =
  process.env.OPEN_STROKES_CSV ??
  fileURLToPath(new URL('../../engineering/open-strokes/sample.csv', import.meta.url));

/** Thrust, torque and speed oscillate by this part of their mean, in whole waves, so that their means are those of the table. */
const SWING = 0.1;
const WAVES = 3;

const STANDING_S = 60;
const REGRIP_S = 300;
const START_MS = Date.UTC(2027, 2, 1, 6);

/** A stroke as it truly was. */
export interface TrueStroke {
  fromMm: number;
  toMm: number;
  startedAtMs: number;
  endedAtMs: number;
  thrustKn: number;
  torqueKnm: number;
  penetrationMmPerRev: number;
  /** as published, for these means */
  torqueRatio: number;
  regular: boolean;
}

export const trueStrokes = (most: number): TrueStroke[] => {
  const rows: Record<string, string>[] = parse(readFileSync(FILE), { columns: true, bom: true });
  let [mm, atMs] = [0, START_MS];
  return rows.slice(0, most).map((row) => {
    const figure = (name: string): number => Number(row[name]);
    const lengthMm = Math.round(
      1000 * (figure('tunnellength stroke end [m]') - figure('tunnellength stroke start [m]')),
    );
    const penetrationMmPerRev = figure('Penetration [mm/rot] mean');
    const endedAtMs = atMs + (lengthMm / (penetrationMmPerRev * figure('rotations [rpm] mean'))) * 60_000;
    const stroke = {
      fromMm: mm,
      toMm: mm + lengthMm,
      startedAtMs: atMs,
      endedAtMs,
      thrustKn: figure('Total advance force [kN] mean'),
      torqueKnm: 1000 * figure('Torque cutterhead [MNm] mean'),
      penetrationMmPerRev,
      torqueRatio: figure('torque ratio [-] mean'),
      regular: row['advance class mean'] === '0',
    };
    mm = stroke.toMm;
    atMs = endedAtMs + 1000 * (2 * STANDING_S + REGRIP_S);
    return stroke;
  });
};

/** The readings at a moment: while boring, or between two strokes. */
const sampleAt = (atMs: number, strokes: TrueStroke[]): object => {
  const at = new Date(atMs).toISOString();
  const stroke = strokes.find(({ startedAtMs, endedAtMs }) => atMs >= startedAtMs && atMs < endedAtMs);
  if (!stroke) {
    const behind = strokes.findLast(({ endedAtMs }) => atMs >= endedAtMs);
    const sinceS = (atMs - (behind?.endedAtMs ?? atMs)) / 1000;
    const isLoose = sinceS >= STANDING_S && sinceS < STANDING_S + REGRIP_S;
    return {
      at,
      positionM: (behind?.toMm ?? 0) / 1000,
      thrustKn: isLoose ? 100 : 800,
      torqueKnm: 5,
      rotationRpm: 0,
      penetrationRateMmPerMin: 0,
      gripperPressureBar: isLoose ? 15 : 280,
    };
  }
  const lastsMs = stroke.endedAtMs - stroke.startedAtMs;
  const angle = (2 * Math.PI * WAVES * (atMs - stroke.startedAtMs)) / lastsMs;
  const wave = 1 + SWING * Math.sin(angle);
  const rateMmPerMin = ((stroke.toMm - stroke.fromMm) / lastsMs) * 60_000;
  // the integral of the rate
  const boredMm =
    (rateMmPerMin / 60_000) *
    (atMs - stroke.startedAtMs + ((SWING * lastsMs) / (2 * Math.PI * WAVES)) * (1 - Math.cos(angle)));
  return {
    at,
    positionM: (stroke.fromMm + boredMm) / 1000,
    thrustKn: stroke.thrustKn * wave,
    torqueKnm: stroke.torqueKnm * (2 - wave), // opposite to the thrust: each mean is independent
    rotationRpm: rateMmPerMin / stroke.penetrationMmPerRev,
    penetrationRateMmPerMin: rateMmPerMin * wave,
    gripperPressureBar: 285,
  };
};

/** The samples of the strokes at this interval, from a minute before the first to a minute after the last. */
export const samplesOf = (strokes: TrueStroke[], intervalS: number): object[] => {
  const last = strokes.at(-1)?.endedAtMs ?? START_MS;
  const samples: object[] = [];
  let first = 0; // past strokes are skipped
  for (let atMs = START_MS - 57_300; atMs < last + 60_000; atMs += intervalS * 1000) {
    while (strokes[first + 1] && (strokes[first + 1]?.startedAtMs ?? 0) <= atMs) first += 1;
    samples.push(sampleAt(atMs, strokes.slice(Math.max(0, first - 1), first + 1)));
  }
  return samples;
};

/** Relative error of a mean over a stroke, caused by samples this far apart. */
export const toleranceOf = ({ startedAtMs, endedAtMs }: TrueStroke, intervalS: number): number => {
  const share = intervalS / ((endedAtMs - startedAtMs) / 1000);
  // Between samples a straight line replaces the wave: h² max|f″| / 12. At each edge the nearest sample is held, from which the
  // wave, which begins and ends at its mean, differs by at most h max|f′|. And the edges are found to the second.
  const steepest = 2 * Math.PI * WAVES;
  return SWING * (steepest ** 2 / 12 + steepest) * share ** 2 + 1e-4;
};
