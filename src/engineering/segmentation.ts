import { type MachineSample, SampleSums } from './sample-means.js';
import { requireThresholds, type SegmentationThresholds } from './segmentation-thresholds.js';

/** A piece of a stroke bored without a stop, as the samples show it. */
export interface SampledBoring {
  kind: 'boring';
  /** number of its stroke: 1, 2, 3 … from the first boring of the samples [-] */
  stroke: number;
  /** time since the epoch, integer [ms] */
  startedAtMs: number;
  endedAtMs: number;
  /** positions along the drive [mm] */
  fromMm: number;
  toMm: number;
  /** number of samples while it was bored [-] */
  sampleCount: number;
  /** time-weighted means; null where nothing was measured */
  thrustKn: number | null;
  torqueKnm: number | null;
  rotationRpm: number | null;
  penetrationRateMmPerMin: number | null;
  penetrationMmPerRev: number | null;
  gripperPressureBar: number | null;
  muckMassT: number | null;
}

/** A period during which the machine stood with its grippers released; a new stroke begins after it. */
export interface SampledRegrip {
  kind: 'regrip';
  startedAtMs: number;
  endedAtMs: number;
  positionMm: number;
}

/** What else a reader of the samples must know. */
export type RemarkKind =
  /** the samples begin or end while boring: the rest of that boring is not in them */
  | 'begins_while_boring'
  | 'ends_while_boring'
  /** no sample for longer than allowed; a boring ends with it */
  | 'sampling_gap'
  /** a sample is not later than the one before it; a boring ends with it */
  | 'clock_set_back'
  /** the position steps back, or forward, by more than boring explains; a boring ends with it */
  | 'position_set_back'
  | 'position_jumped'
  /** the position drifted between two borings: the later one begins where the earlier ended */
  | 'gap_closed'
  /** the same beyond what is closed: metres between two borings that neither bored, or that both did */
  | 'metres_missing'
  | 'metres_twice'
  /** a boring too short to count */
  | 'too_short'
  /** samples without thrust or penetration rate, which were skipped */
  | 'not_readable';

export interface SampledRemark {
  kind: 'remark';
  what: RemarkKind;
  atMs: number;
  positionMm: number;
  /** length, below 0 when backwards [mm]; duration [s]; number of samples concerned [-] */
  lengthMm: number | null;
  durationS: number | null;
  sampleCount: number | null;
}

export type Finding = SampledBoring | SampledRegrip | SampledRemark;

/** A sample that shows whether the machine is boring. */
type Readable = MachineSample & { thrustKn: number; penetrationRateMmPerMin: number };

interface Stop {
  atMs: number;
  positionMm: number;
  /** from the last sample of boring on; counted if the boring continues */
  sums: SampleSums;
  sampleCount: number;
}

interface OpenBoring {
  startedAtMs: number;
  fromMm: number;
  /** last sample of boring */
  last: Readable;
  sums: SampleSums;
  sampleCount: number;
  /** the machine is stopped, for how long is not yet known */
  stop: Stop | null;
}

/** A run of samples with the grippers released in one place. */
interface LooseRun {
  first: Readable;
  last: Readable;
  /** it has lasted long enough */
  isRegrip: boolean;
}

const MS_PER_S = 1000;
const MS_PER_MIN = 60_000;
/** Tolerance for a rate that rises or falls between two samples. */
const RATE_ALLOWANCE = 1.5;

const isReadable = (sample: MachineSample): sample is Readable =>
  sample.thrustKn !== null && sample.penetrationRateMmPerMin !== null;

/** Time in which the head moves between the two positions at this rate, limited to the time between the samples. [ms] */
const boredFor = (first: Readable, next: Readable, rateMmPerMin: number): number => {
  const ms = ((next.positionMm - first.positionMm) / rateMmPerMin) * MS_PER_MIN;
  return Math.min(Math.max(ms, 0), next.atMs - first.atMs);
};

/**
 * Finds borings and regrips in samples, one sample at a time; its memory does not grow with their number.
 *
 * Boring begins with a sample at which penetration rate and thrust have both reached their `begin` thresholds, and ends
 * with the first at which either has fallen below its `end` threshold, unless both reach the former again within
 * `mergeGapS`. Between two samples, the moment is that at which the rate of the boring sample reaches the position of the other; the
 * metres are those of the samples at standstill on both sides. A stroke is the borings between two regrips. A regrip is a time of
 * `minRegripS` in which the machine stands in one place, its gripper pressure below `regripPressureBar` (its thrust below
 * `regripThrustKn`, where no gripper pressure is measured).
 * Source: project rule.
 */
export class Segmentation {
  private previous: Readable | null = null;
  private boring: OpenBoring | null = null;
  private loose: LooseRun | null = null;
  /** whether there was a regrip since the last boring */
  private regripped = false;
  private strokes = 0;
  private behindMm: number | null = null;
  private readonly unreadable = { count: 0, first: null as MachineSample | null };
  private found: Finding[] = [];

  /** @throws RangeError when a threshold is out of range or two conflict */
  constructor(private readonly thresholds: SegmentationThresholds) {
    requireThresholds(thresholds);
  }

  /** Takes the next sample. @returns findings that are now certain, in order of time */
  add(sample: MachineSample): Finding[] {
    if (!isReadable(sample)) {
      this.unreadable.first ??= sample;
      this.unreadable.count += 1;
      return [];
    }
    const isFirst = this.previous === null;
    const previous = this.previous && this.follows(this.previous, sample) ? this.previous : null;
    this.previous = sample;
    if (this.bores(sample)) {
      if (isFirst) this.remark('begins_while_boring', sample, {});
      this.bore(previous, sample);
    } else this.stand(previous, sample);
    return this.handOver();
  }

  /** Ends the samples. @returns findings still open */
  end(): Finding[] {
    if (this.boring) this.remark('ends_while_boring', this.boring.last, {});
    this.cut();
    const { first, count } = this.unreadable;
    if (first) this.remark('not_readable', first, { sampleCount: count });
    return this.handOver();
  }

  private handOver(): Finding[] {
    const { found } = this;
    if (found.length > 0) this.found = [];
    return found;
  }

  private remark(
    what: RemarkKind,
    { atMs, positionMm }: { atMs: number; positionMm: number },
    figures: Partial<Pick<SampledRemark, 'lengthMm' | 'durationS' | 'sampleCount'>>,
  ): void {
    const none = { lengthMm: null, durationS: null, sampleCount: null };
    this.found.push({ kind: 'remark', what, atMs, positionMm, ...none, ...figures });
  }

  /** Whether a sample continues the one before it; anything that separates them ends the boring and is reported. */
  private follows(previous: Readable, sample: Readable): boolean {
    const ms = sample.atMs - previous.atMs;
    const lengthMm = sample.positionMm - previous.positionMm;
    const { maxGapS, positionJumpMm } = this.thresholds;
    const part = (what: RemarkKind, figures: { lengthMm?: number; durationS?: number }): boolean => {
      this.cut();
      this.remark(what, sample, figures);
      return false;
    };
    if (ms <= 0) return part('clock_set_back', { durationS: (previous.atMs - sample.atMs) / MS_PER_S });
    if (ms > maxGapS * MS_PER_S) return part('sampling_gap', { durationS: ms / MS_PER_S });
    if (lengthMm < -positionJumpMm) return part('position_set_back', { lengthMm });
    const rate = Math.max(previous.penetrationRateMmPerMin, sample.penetrationRateMmPerMin);
    const boredMm = (RATE_ALLOWANCE * rate * ms) / MS_PER_MIN;
    if (lengthMm > boredMm + positionJumpMm) return part('position_jumped', { lengthMm });
    return true;
  }

  /** By the end thresholds while boring, otherwise by the begin thresholds. */
  private bores({ penetrationRateMmPerMin: rate, thrustKn }: Readable): boolean {
    const { beginRateMmPerMin, beginThrustKn, endRateMmPerMin, endThrustKn } = this.thresholds;
    return this.boring && !this.boring.stop
      ? rate >= endRateMmPerMin && thrustKn >= endThrustKn
      : rate >= Math.max(beginRateMmPerMin, endRateMmPerMin) && thrustKn >= beginThrustKn;
  }

  private bore(previous: Readable | null, sample: Readable): void {
    this.endLooseRun();
    const { boring } = this;
    if (previous && boring) {
      if (this.goesOn(boring, previous, sample)) return;
      this.close();
    }
    const heldMs = previous ? boredFor(previous, sample, sample.penetrationRateMmPerMin) : 0;
    const sums = new SampleSums();
    sums.hold(sample, heldMs);
    this.boring = {
      startedAtMs: sample.atMs - heldMs,
      fromMm: previous?.positionMm ?? sample.positionMm,
      last: sample,
      sums,
      sampleCount: 1,
      stop: null,
    };
  }

  /** Whether the sample belongs to the open boring, which then continues with it. */
  private goesOn(boring: OpenBoring, previous: Readable, sample: Readable): boolean {
    const { stop } = boring;
    if (stop) {
      const resumedAtMs = sample.atMs - boredFor(previous, sample, sample.penetrationRateMmPerMin);
      if (resumedAtMs - stop.atMs >= this.thresholds.mergeGapS * MS_PER_S) return false;
      stop.sums.span(previous, sample);
      boring.sums.plus(stop.sums);
      boring.sampleCount += stop.sampleCount;
      boring.stop = null;
    } else boring.sums.span(boring.last, sample);
    boring.sampleCount += 1;
    boring.last = sample;
    return true;
  }

  private stand(previous: Readable | null, sample: Readable): void {
    const { boring } = this;
    if (previous && boring) {
      const { last } = boring;
      if (boring.stop) boring.stop.sampleCount += 1;
      else
        boring.stop = {
          atMs: last.atMs + boredFor(last, sample, last.penetrationRateMmPerMin),
          positionMm: sample.positionMm,
          sums: new SampleSums(),
          sampleCount: 1,
        };
      boring.stop.sums.span(previous, sample);
      if (sample.atMs - boring.stop.atMs >= this.thresholds.mergeGapS * MS_PER_S) this.close();
    }
    this.watchGrippers(sample);
  }

  private watchGrippers(sample: Readable): void {
    const { regripPressureBar, regripThrustKn, minRegripS, closeGapMm } = this.thresholds;
    const { gripperPressureBar, thrustKn, positionMm } = sample;
    const isLoose =
      gripperPressureBar === null ? thrustKn < regripThrustKn : gripperPressureBar < regripPressureBar;
    if (!isLoose) {
      this.endLooseRun();
      return;
    }
    if (this.loose && Math.abs(positionMm - this.loose.first.positionMm) > closeGapMm) this.endLooseRun();
    this.loose ??= { first: sample, last: sample, isRegrip: false };
    this.loose.last = sample;
    if (this.loose.isRegrip || sample.atMs - this.loose.first.atMs < minRegripS * MS_PER_S) return;
    this.close();
    this.loose.isRegrip = true;
    this.regripped = true;
  }

  private endLooseRun(): void {
    if (this.loose?.isRegrip) {
      const { first, last } = this.loose;
      const { positionMm } = first;
      this.found.push({ kind: 'regrip', startedAtMs: first.atMs, endedAtMs: last.atMs, positionMm });
    }
    this.loose = null;
  }

  /** Ends whatever is open at the last sample. */
  private cut(): void {
    this.close();
    this.endLooseRun();
  }

  /** Ends the open boring where it stopped, otherwise at its last sample. */
  private close(): void {
    const { boring } = this;
    if (!boring) return;
    this.boring = null;
    const { startedAtMs, fromMm, last, stop, sums, sampleCount } = boring;
    const { atMs: endedAtMs, positionMm: toMm } = stop ?? last;
    sums.hold(last, endedAtMs - last.atMs);
    const durationS = (endedAtMs - startedAtMs) / MS_PER_S;
    const start = { atMs: Math.round(startedAtMs), positionMm: fromMm };
    const { minBoringS, minBoringMm } = this.thresholds;
    if (durationS < minBoringS || toMm - fromMm < minBoringMm || toMm <= fromMm) {
      this.remark('too_short', start, { lengthMm: toMm - fromMm, durationS });
      return;
    }
    if (this.regripped || this.strokes === 0) this.strokes += 1;
    this.regripped = false;
    this.found.push({
      kind: 'boring',
      stroke: this.strokes,
      startedAtMs: start.atMs,
      endedAtMs: Math.round(endedAtMs),
      fromMm: this.joined(start, toMm),
      toMm,
      sampleCount,
      thrustKn: sums.mean('thrustKn'),
      torqueKnm: sums.mean('torqueKnm'),
      rotationRpm: sums.mean('rotationRpm'),
      penetrationRateMmPerMin: sums.mean('penetrationRateMmPerMin'),
      penetrationMmPerRev: sums.penetrationMmPerRev(),
      gripperPressureBar: sums.mean('gripperPressureBar'),
      muckMassT: sums.muckMassT(),
    });
    this.behindMm = toMm;
  }

  /** Where a boring begins: where the one before it ended, if the position has only drifted since; either case is reported. */
  private joined(start: { atMs: number; positionMm: number }, toMm: number): number {
    const { behindMm } = this;
    const lengthMm = behindMm === null ? 0 : start.positionMm - behindMm;
    if (behindMm === null || lengthMm === 0) return start.positionMm;
    if (Math.abs(lengthMm) <= this.thresholds.closeGapMm && behindMm < toMm) {
      this.remark('gap_closed', start, { lengthMm });
      return behindMm;
    }
    this.remark(lengthMm > 0 ? 'metres_missing' : 'metres_twice', start, { lengthMm });
    return start.positionMm;
  }
}

/** The findings in samples that arrive in chunks of any size, in order of time. */
export async function* segmentsOf(
  pieces: AsyncIterable<readonly MachineSample[]> | Iterable<readonly MachineSample[]>,
  thresholds: SegmentationThresholds,
): AsyncGenerator<Finding> {
  const segmentation = new Segmentation(thresholds);
  for await (const piece of pieces) for (const sample of piece) yield* segmentation.add(sample);
  yield* segmentation.end();
}
