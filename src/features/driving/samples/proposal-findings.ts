import { createHash } from 'node:crypto';
import { faulty, type ProblemError } from '../../../common/api/problem.js';
import { metresText } from '../../../engineering/chainage.js';
import type { MachineSample } from '../../../engineering/sample-means.js';
import { type Finding, type SampledBoring, segmentsOf } from '../../../engineering/segmentation.js';
import type { SegmentationThresholds } from '../../../engineering/segmentation-thresholds.js';
import { READINGS } from '../strokes/stroke-fields.js';
import { MOST_FINDINGS } from './sample-limits.js';

const DECIMALS = 3;

/** A mean if a boring of the record can hold it; otherwise null. */
const mean = (value: number | null, most: number): number | null => {
  if (value === null || value > most) return null;
  return Number(value.toFixed(DECIMALS)) + 0;
};

const instant = (ms: number): string => new Date(ms).toISOString();

const storedBoring = (boring: SampledBoring) => ({
  stroke: boring.stroke,
  fromM: metresText(boring.fromMm),
  toM: metresText(boring.toMm),
  startedAt: instant(boring.startedAtMs),
  endedAt: instant(boring.endedAtMs),
  sampleCount: boring.sampleCount,
  thrustKn: mean(boring.thrustKn, READINGS.thrustKn),
  torqueKnm: mean(boring.torqueKnm, READINGS.torqueKnm),
  rotationRpm: mean(boring.rotationRpm, READINGS.rotationRpm),
  penetrationRateMmPerMin: mean(boring.penetrationRateMmPerMin, Infinity),
  penetrationMmPerRev: mean(boring.penetrationMmPerRev, READINGS.penetrationMmPerRev),
  gripperPressureBar: mean(boring.gripperPressureBar, READINGS.gripperPressureBar),
  muckMassT: mean(boring.muckMassT, READINGS.muckMassT)?.toFixed(DECIMALS) ?? null,
});

/** The content of a proposal, as stored. */
export interface Findings {
  sampleCount: number;
  borings: ReturnType<typeof storedBoring>[];
  regrips: { startedAt: string; endedAt: string; positionM: string }[];
  remarks: object[];
}

const tooMany = (): ProblemError =>
  faulty('invalid', [
    {
      in: 'body',
      pointer: '',
      detail: `the span gives more than ${MOST_FINDINGS} borings, regrips or remarks: choose a shorter one, or other thresholds`,
    },
  ]);

/** Sorts the findings of samples that arrive in chunks. @throws ProblemError invalid for more than a proposal can hold */
export const findingsOf = async (
  pieces: AsyncIterable<MachineSample[]>,
  thresholds: SegmentationThresholds,
): Promise<Findings> => {
  const findings: Findings = { sampleCount: 0, borings: [], regrips: [], remarks: [] };
  const counted = async function* (): AsyncGenerator<MachineSample[]> {
    for await (const piece of pieces) {
      findings.sampleCount += piece.length;
      yield piece;
    }
  };
  for await (const finding of segmentsOf(counted(), thresholds)) {
    if (keep(findings, finding) > MOST_FINDINGS) throw tooMany();
  }
  return findings;
};

/** @returns the number of findings of its kind so far */
const keep = ({ borings, regrips, remarks }: Findings, finding: Finding): number => {
  switch (finding.kind) {
    case 'boring':
      return borings.push(storedBoring(finding));
    case 'regrip':
      return regrips.push({
        startedAt: instant(finding.startedAtMs),
        endedAt: instant(finding.endedAtMs),
        positionM: metresText(finding.positionMm),
      });
    case 'remark': {
      const { what, atMs, positionMm, lengthMm, durationS, sampleCount } = finding;
      return remarks.push({
        what,
        at: instant(atMs),
        positionM: metresText(positionMm),
        lengthMm,
        durationS: mean(durationS, Infinity),
        sampleCount,
      });
    }
  }
};

export const digestOf = (content: object): string =>
  createHash('sha256').update(JSON.stringify(content)).digest('hex');

/** The entity tag of a proposal, from the digest of its content; acceptance changes it. */
export const etagOf = (digest: string, acceptedAt: string | null | undefined): string =>
  `"${digestOf([digest, acceptedAt ?? null]).slice(0, 32)}"`;
