import fc from 'fast-check';
import type { MachineSample } from '../../src/engineering/sample-means.js';
import {
  type Finding,
  type RemarkKind,
  type SampledBoring,
  type SampledRemark,
  Segmentation,
  segmentsOf,
} from '../../src/engineering/segmentation.js';
import { USUAL_THRESHOLDS } from '../../src/engineering/segmentation-thresholds.js';
import {
  type Instruments,
  type Phase,
  randomFrom,
  sampled,
  strokes,
  instruments,
  trueBorings,
} from './sampled-drive.js';

// Expected values: the phases from which the samples were made, and hand calculations beside them.

const segmented = (samples: readonly MachineSample[], thresholds = USUAL_THRESHOLDS): Finding[] => {
  const segmentation = new Segmentation(thresholds);
  return [...samples.flatMap((sample) => segmentation.add(sample)), ...segmentation.end()];
};

const boringsOf = (findings: Finding[]): SampledBoring[] =>
  findings.filter((finding): finding is SampledBoring => finding.kind === 'boring');
const remarksOf = (findings: Finding[]): SampledRemark[] =>
  findings.filter((finding): finding is SampledRemark => finding.kind === 'remark');
const remarkKinds = (findings: Finding[]): RemarkKind[] => remarksOf(findings).map(({ what }) => what);

const CLEAN: Instruments = {
  intervalS: 1,
  positionNoiseMm: 0,
  readingNoise: 0,
  lostPerMille: 0,
  hasGrippers: true,
  random: () => 0,
};

/** The samples on both sides of a moment. */
const around = (samples: MachineSample[], atMs: number): [number, number] => [
  samples.findLast((sample) => sample.atMs < atMs)?.atMs ?? -Infinity,
  samples.find((sample) => sample.atMs > atMs)?.atMs ?? Infinity,
];

describe('samples of strokes with dips, pauses and regrips', () => {
  it('give back the borings: moments between the samples around them, metres within the noise, and no others', () => {
    fc.assert(
      fc.property(strokes, instruments, (phases, seen) => {
        const samples = sampled(phases, seen);
        const findings = segmented(samples);
        const found = boringsOf(findings);
        const truth = trueBorings(phases);
        expect(found.map(({ stroke }) => stroke)).toEqual(truth.map(({ stroke }) => stroke));
        truth.forEach((boring, index) => {
          const { startedAtMs, endedAtMs, fromMm, toMm } = found[index] as SampledBoring;
          for (const [at, expected] of [
            [startedAtMs, boring.startedAtMs],
            [endedAtMs, boring.endedAtMs],
          ] as const) {
            const [before, after] = around(samples, expected);
            expect(at).toBeGreaterThanOrEqual(before);
            expect(at).toBeLessThanOrEqual(after);
          }
          const noiseMm = 0.5 + seen.positionNoiseMm;
          expect(Math.abs(fromMm - boring.fromMm)).toBeLessThanOrEqual(noiseMm);
          expect(Math.abs(toMm - boring.toMm)).toBeLessThanOrEqual(noiseMm);
        });
        const regrips = findings.filter(({ kind }) => kind === 'regrip');
        expect(regrips).toHaveLength(phases.filter(({ kind }) => kind === 'regrip').length);
        expect(remarkKinds(findings).filter((what) => what !== 'gap_closed')).toEqual([]);
        if (seen.positionNoiseMm === 0) expect(remarkKinds(findings)).toEqual([]);
      }),
      { numRuns: 60 },
    );
  });

  it('give the same in whatever pieces they arrive', async () => {
    const cuts = fc.array(fc.integer({ min: 0, max: 400 }), { maxLength: 30 });
    await fc.assert(
      fc.asyncProperty(strokes, instruments, cuts, async (phases, seen, lengths) => {
        const samples = sampled(phases, seen);
        const pieces: MachineSample[][] = [];
        let rest = samples;
        for (const length of lengths) {
          pieces.push(rest.slice(0, length));
          rest = rest.slice(length);
        }
        const found: Finding[] = [];
        for await (const finding of segmentsOf([...pieces, rest], USUAL_THRESHOLDS)) found.push(finding);
        expect(found).toEqual(segmented(samples));
      }),
      { numRuns: 15 },
    );
  });

  it('report of a gap inside a boring, which ends and begins at the samples beside it', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 90, max: 400 }),
        fc.integer({ min: 61, max: 300 }),
        fc.constantFrom(1, 10),
        fc.integer(),
        (beforeS, gapS, intervalS, seed) => {
          const phases: Phase[] = [
            { kind: 'bore', s: beforeS + gapS + 120, rateMmPerMin: 30, thrustKn: 9000 },
          ];
          const samples = sampled(phases, { ...CLEAN, intervalS, random: randomFrom(seed) });
          const [boring] = trueBorings(phases);
          const start = boring?.startedAtMs ?? 0;
          const isKept = ({ atMs }: MachineSample): boolean =>
            atMs <= start + beforeS * 1000 || atMs > start + (beforeS + gapS) * 1000;
          const kept = samples.filter(isKept);
          const [last, next] = [
            kept.findLast(({ atMs }) => atMs <= start + beforeS * 1000),
            kept.find(({ atMs }) => atMs > start + (beforeS + gapS) * 1000),
          ];
          const findings = segmented(kept);
          const [first, second] = boringsOf(findings);
          expect(boringsOf(findings)).toHaveLength(2);
          expect([first?.endedAtMs, first?.toMm]).toEqual([last?.atMs, last?.positionMm]);
          expect([second?.startedAtMs, second?.fromMm]).toEqual([next?.atMs, next?.positionMm]);
          expect([first?.stroke, second?.stroke]).toEqual([1, 1]);
          const missingMm = (next?.positionMm ?? 0) - (last?.positionMm ?? 0);
          expect(remarksOf(findings)).toMatchObject([
            { what: 'sampling_gap', durationS: ((next?.atMs ?? 0) - (last?.atMs ?? 0)) / 1000 },
            { what: 'metres_missing', lengthMm: missingMm },
          ]);
        },
      ),
      { numRuns: 30 },
    );
  });
});

/** Two strokes of 10 min at 60 mm/min, 0.6 m each, with a regrip of 3 min between them. */
const TWO: Phase[] = [
  { kind: 'bore', s: 600, rateMmPerMin: 60, thrustKn: 9000 },
  { kind: 'regrip', s: 180 },
  { kind: 'bore', s: 600, rateMmPerMin: 60, thrustKn: 9000 },
];
const REGRIP_MS = Date.UTC(2027, 2, 1, 6, 10);
const SECOND_MS = Date.UTC(2027, 2, 1, 6, 13);

describe('what is reported', () => {
  it('is nothing for two plain strokes, found to the second and the millimetre', () => {
    const findings = segmented(sampled(TWO, CLEAN));
    expect(findings).toMatchObject([
      {
        kind: 'boring',
        stroke: 1,
        fromMm: 0,
        toMm: 600,
        startedAtMs: REGRIP_MS - 600_000,
        endedAtMs: REGRIP_MS,
      },
      { kind: 'regrip', positionMm: 600, startedAtMs: REGRIP_MS, endedAtMs: SECOND_MS - 1000 },
      {
        kind: 'boring',
        stroke: 2,
        fromMm: 600,
        toMm: 1200,
        startedAtMs: SECOND_MS,
        endedAtMs: SECOND_MS + 600_000,
      },
    ]);
    expect(findings).toHaveLength(3);
  });

  /** The same with the position shifted after a moment. */
  const moved = (byMm: number, fromMs: number): MachineSample[] =>
    sampled(TWO, CLEAN).map((sample) =>
      sample.atMs >= fromMs ? { ...sample, positionMm: sample.positionMm + byMm } : sample,
    );

  it.each([
    // drift within 20 mm is closed: the second stroke begins where the first ended
    [15, ['gap_closed'], 15, 600],
    [-15, ['gap_closed'], -15, 600],
    // beyond, it is left and reported
    [40, ['metres_missing'], 40, 640],
    [-40, ['metres_twice'], -40, 560],
    // a step of more than 100 mm between two samples is also reported separately
    [250, ['position_jumped', 'metres_missing'], 250, 850],
    [-250, ['position_set_back', 'metres_twice'], -250, 350],
  ])('of a position that moves by %d mm while the machine stands is %j', (byMm, kinds, lengthMm, fromMm) => {
    const findings = segmented(moved(byMm, REGRIP_MS + 60_000));
    expect(remarkKinds(findings)).toEqual(kinds);
    expect(remarksOf(findings).every((remark) => remark.lengthMm === lengthMm)).toBe(true);
    expect(boringsOf(findings)[1]).toMatchObject({ stroke: 2, fromMm, toMm: 1200 + byMm });
  });

  // 60 mm/min for 10 s are 10 mm. A rate may rise or fall between two samples: 1.5 times that is accepted. Project rule.
  it.each([
    [15, []],
    [16, ['position_jumped']],
  ])('of %d mm where the rate gives 10 is %j', (byMm, kinds) => {
    const at = (atMs: number, positionMm: number): MachineSample => ({
      atMs,
      positionMm,
      thrustKn: 8000,
      torqueKnm: null,
      rotationRpm: null,
      penetrationRateMmPerMin: 60,
      gripperPressureBar: null,
      muckFlowTPerH: null,
    });
    const samples = [0, 10, 20, 30, 40].map((mm, index) => at(index * 10_000, mm));
    samples.push(at(50_000, 40 + byMm), at(60_000, 50 + byMm));
    const jumps = remarkKinds(segmented(samples, { ...USUAL_THRESHOLDS, positionJumpMm: 0 })).filter(
      (kind) => kind === 'position_jumped',
    );
    expect(jumps).toEqual(kinds);
  });

  it('is a restart while boring, which ends the boring there', () => {
    const findings = segmented(moved(-250, REGRIP_MS - 300_000));
    expect(remarkKinds(findings)).toEqual(['position_set_back', 'metres_twice']);
    // the last sample before it is at 299 mm; the next at 300 - 250
    expect(boringsOf(findings).map(({ stroke, fromMm, toMm }) => [stroke, fromMm, toMm])).toEqual([
      [1, 0, 299],
      [1, 50, 350],
      [2, 350, 950],
    ]);
  });

  it.each([5, 3600])('is a clock set back by %d s: the boring ends with the last sample before it', (byS) => {
    const whole = sampled(TWO, CLEAN);
    const setBack = whole.map((sample) =>
      sample.atMs >= REGRIP_MS - 300_000 ? { ...sample, atMs: sample.atMs - byS * 1000 } : sample,
    );
    const findings = segmented(setBack);
    // the next sample is 1 mm ahead of where the boring ended
    expect(remarksOf(findings)).toMatchObject([
      { what: 'clock_set_back', durationS: byS - 1 },
      { what: 'gap_closed', lengthMm: 1 },
    ]);
    const [first, second, third] = boringsOf(findings);
    expect(boringsOf(findings)).toHaveLength(3);
    expect(first?.endedAtMs).toBe(REGRIP_MS - 301_000);
    expect(second?.startedAtMs).toBe(REGRIP_MS - 300_000 - byS * 1000);
    expect([first?.stroke, second?.stroke, third?.stroke]).toEqual([1, 1, 2]);
  });

  it('is a sample that appears twice, which is no later than itself', () => {
    const samples = sampled(TWO, CLEAN);
    const twice = [...samples.slice(0, 200), ...samples.slice(199)];
    const findings = segmented(twice);
    expect(remarksOf(findings)).toMatchObject([{ what: 'clock_set_back', durationS: 0 }]);
    expect(boringsOf(findings).map(({ fromMm, toMm }) => [fromMm, toMm])).toEqual([
      [0, 79],
      [79, 600],
      [600, 1200],
    ]);
  });

  it('includes that the samples begin or end while the machine bores', () => {
    const middle = sampled(TWO, CLEAN).filter(
      ({ atMs }) => atMs >= REGRIP_MS - 300_000 && atMs <= SECOND_MS + 300_000,
    );
    const findings = segmented(middle);
    expect(remarkKinds(findings)).toEqual(['begins_while_boring', 'ends_while_boring']);
    expect(boringsOf(findings)).toMatchObject([
      { fromMm: 300, toMm: 600, startedAtMs: REGRIP_MS - 300_000 },
      { fromMm: 600, toMm: 900, endedAtMs: SECOND_MS + 300_000 },
    ]);
  });

  it('includes samples without thrust or rate: skipped, and counted', () => {
    const samples = sampled(TWO, CLEAN).map((sample, index) =>
      index % 10 === 3 ? { ...sample, thrustKn: null } : sample,
    );
    const findings = segmented(samples);
    expect(boringsOf(findings).map(({ fromMm, toMm }) => [fromMm, toMm])).toEqual([
      [0, 600],
      [600, 1200],
    ]);
    const count = samples.filter(({ thrustKn }) => thrustKn === null).length;
    expect(remarksOf(findings)).toMatchObject([{ what: 'not_readable', sampleCount: count }]);
  });

  it.each([
    ['seconds', { kind: 'bore', s: 20, rateMmPerMin: 60, thrustKn: 9000 }, 20, 20],
    ['millimetres', { kind: 'bore', s: 60, rateMmPerMin: 6, thrustKn: 9000 }, 6, 60],
  ] as const)(
    'includes a boring of too few %s, which is dropped; its metres go to the next',
    (_, short, mm, s) => {
      const findings = segmented(sampled([short, { kind: 'pause', s: 120 }, ...TWO], CLEAN));
      expect(remarksOf(findings)).toMatchObject([
        { what: 'too_short', lengthMm: mm, durationS: expect.closeTo(s, -1) }, // moments to the millimetre's second
      ]);
      expect(boringsOf(findings).map(({ stroke, fromMm }) => [stroke, fromMm])).toEqual([
        [1, mm],
        [2, mm + 600],
      ]);
      const between = segmented(
        sampled([...TWO.slice(0, 2), short, { kind: 'pause', s: 120 }, ...TWO.slice(2)], CLEAN),
      );
      expect(remarkKinds(between)).toEqual(['too_short', 'gap_closed']);
      expect(boringsOf(between).map(({ stroke, fromMm }) => [stroke, fromMm])).toEqual([
        [1, 0],
        [2, 600],
      ]);
    },
  );
});

describe('thresholds', () => {
  const pauseOf = (s: number, kind: 'pause' | 'regrip' = 'pause'): number[] =>
    boringsOf(
      segmented(
        sampled(
          TWO.map((phase) => (phase.kind === 'bore' ? phase : { kind, s })),
          CLEAN,
        ),
      ),
    ).map(({ stroke }) => stroke);

  it('separate a stop from a dip, and a regrip from a stop, to the second', () => {
    expect(pauseOf(29)).toEqual([1]);
    expect(pauseOf(30)).toEqual([1, 1]);
    // of a stop of 60 s, the samples of the first and the last of its seconds are 59 s apart
    expect(pauseOf(60, 'regrip')).toEqual([1, 1]);
    expect(pauseOf(61, 'regrip')).toEqual([1, 2]);
    expect(pauseOf(600)).toEqual([1, 1]);
  });

  it('let a boring continue between the end and the beginning thresholds', () => {
    const slow: Phase[] = [
      { kind: 'bore', s: 300, rateMmPerMin: 3, thrustKn: 1500 },
      { kind: 'bore', s: 300, rateMmPerMin: 30, thrustKn: 9000 },
      { kind: 'bore', s: 300, rateMmPerMin: 3, thrustKn: 1500 },
    ];
    // 15 mm before it begins are not bored by the rule; 150 and 15 mm are
    expect(boringsOf(segmented(sampled(slow, CLEAN)))).toMatchObject([{ fromMm: 15, toMm: 180 }]);
  });

  it('detect a regrip without grippers by its thrust', () => {
    const blind = { ...CLEAN, hasGrippers: false };
    expect(boringsOf(segmented(sampled(TWO, blind))).map(({ stroke }) => stroke)).toEqual([1, 2]);
    const pause = TWO.map((phase): Phase => (phase.kind === 'bore' ? phase : { kind: 'pause', s: 180 }));
    // at 900 kN the machine is held against the face
    expect(boringsOf(segmented(sampled(pause, blind))).map(({ stroke }) => stroke)).toEqual([1, 1]);
  });

  it.each([
    [{ endRateMmPerMin: 6 }, 'endRateMmPerMin is 6; it must not lie above beginRateMmPerMin, 5.'],
    [{ endThrustKn: 2001 }, 'endThrustKn is 2001; it must not lie above beginThrustKn, 2000.'],
    [{ endRateMmPerMin: 0 }, 'endRateMmPerMin is 0; it must be a finite number above 0.'],
    [{ maxGapS: 0 }, 'maxGapS is 0; it must be a finite number above 0.'],
    [{ mergeGapS: NaN }, 'mergeGapS is NaN; it must be a finite number, 0 or more.'],
  ])('are refused: %j', (some, message) => {
    expect(() => new Segmentation({ ...USUAL_THRESHOLDS, ...some })).toThrow(new RangeError(message));
  });
});

describe('the means of a boring', () => {
  /**
   * Six samples, 60 s apart: standstill, four while boring, standstill. The first one while boring is 24 mm ahead at 48 mm/min: boring began
   * 30 s before. After the last one 12 mm more at 24 mm/min: boring ended 30 s after.
   */
  const at = (
    minute: number,
    positionMm: number,
    rate: number,
    more: Partial<MachineSample> = {},
  ): MachineSample => ({
    atMs: minute * 60_000,
    positionMm,
    penetrationRateMmPerMin: rate,
    thrustKn: rate > 0 ? 8000 : 0,
    torqueKnm: null,
    rotationRpm: rate > 0 ? 6 : 0,
    gripperPressureBar: 300,
    muckFlowTPerH: rate > 0 ? 360 : 0,
    ...more,
  });
  const samples = [
    at(0, 0, 0),
    at(1, 24, 48, { thrustKn: 6000 }),
    at(2, 72, 48, { thrustKn: 10_000, gripperPressureBar: null }),
    at(3, 120, 48, { thrustKn: 10_000, muckFlowTPerH: 720 }),
    at(4, 156, 24, { thrustKn: 8000 }),
    at(5, 168, 0),
  ];

  it('are weighted by time, by hand', () => {
    const [boring] = boringsOf(segmented(samples));
    expect(boring).toMatchObject({
      startedAtMs: 30_000,
      endedAtMs: 270_000,
      fromMm: 0,
      toMm: 168,
      sampleCount: 4,
    });
    // 0.5 × 6000 + (6000 + 10000) / 2 + 10000 + (10000 + 8000) / 2 + 0.5 × 8000 = 34000 in 4 min
    expect(boring?.thrustKn).toBeCloseTo(8500, 9);
    // 0.5 × 48 + 48 + 48 + 36 + 0.5 × 24 = 168 mm in 4 min, which are 24 turns
    expect(boring?.penetrationRateMmPerMin).toBeCloseTo(42, 9);
    expect(boring?.rotationRpm).toBeCloseTo(6, 9);
    expect(boring?.penetrationMmPerRev).toBeCloseTo(7, 9);
    // 0.5 × 360 + 360 + 540 + 540 + 0.5 × 360 = 1800 t/h · min, over 60
    expect(boring?.muckMassT).toBeCloseTo(30, 9);
    expect([boring?.torqueKnm, boring?.gripperPressureBar]).toEqual([null, 300]);
  });

  it('include a dip after which the boring continues, but not the stop that ends it', () => {
    const plain: Phase[] = [{ kind: 'bore', s: 300, rateMmPerMin: 60, thrustKn: 9000 }];
    const dip: Phase[] = [...plain, { kind: 'dip', s: 20 }, ...plain];
    const [whole] = boringsOf(segmented(sampled(dip, CLEAN)));
    // 599 s of 9000 kN, 19 s of 900, and twice 1 s at the edge of the dip with the mean of both
    expect(whole?.thrustKn).toBeCloseTo((599 * 9000 + 19 * 900 + 2 * 4950) / 620, 6);
    expect(whole?.sampleCount).toBe(620);
    expect(
      boringsOf(segmented(sampled([...plain, { kind: 'pause', s: 60 }], CLEAN)))[0]?.thrustKn,
    ).toBeCloseTo(9000, 9);
  });

  it('are null where nothing turned or flowed', () => {
    const bare = samples.map((sample) => ({ ...sample, rotationRpm: null, muckFlowTPerH: null }));
    expect(boringsOf(segmented(bare))[0]).toMatchObject({
      penetrationMmPerRev: null,
      muckMassT: null,
      rotationRpm: null,
    });
    const still = samples.map((sample) => ({ ...sample, rotationRpm: 0 }));
    expect(boringsOf(segmented(still))[0]).toMatchObject({ penetrationMmPerRev: null, rotationRpm: 0 });
  });
});
