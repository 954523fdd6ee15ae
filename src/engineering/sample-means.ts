/** One reading of the machine's instruments; null: not measured. */
export interface MachineSample {
  /** moment, since the epoch [ms] */
  atMs: number;
  /** position along the drive, from its start [mm] */
  positionMm: number;
  thrustKn: number | null;
  torqueKnm: number | null;
  rotationRpm: number | null;
  penetrationRateMmPerMin: number | null;
  gripperPressureBar: number | null;
  /** mass flow over the belt weigher [t/h] */
  muckFlowTPerH: number | null;
}

type Reading = Exclude<keyof MachineSample, 'atMs' | 'positionMm'>;

const MS_PER_MIN = 60_000;
const MS_PER_H = 3_600_000;

/** The reading over an interval: the mean of both ends, or the one that was measured. */
const between = (a: number | null, b: number | null): number | null => {
  if (a === null || b === null) return a ?? b;
  return (a + b) / 2;
};

interface Sum {
  /** reading multiplied by time [unit · ms] */
  weighted: number;
  /** time during which it was measured [ms] */
  ms: number;
}

/**
 * Sums over time for means and integrals, by the trapezoidal rule; constant in size, however many samples are added.
 * Source: by definition (trapezoidal rule).
 */
export class SampleSums {
  private readonly sums: Record<Reading, Sum> = {
    thrustKn: { weighted: 0, ms: 0 },
    torqueKnm: { weighted: 0, ms: 0 },
    rotationRpm: { weighted: 0, ms: 0 },
    penetrationRateMmPerMin: { weighted: 0, ms: 0 },
    gripperPressureBar: { weighted: 0, ms: 0 },
    muckFlowTPerH: { weighted: 0, ms: 0 },
  };
  /** advance and revolutions during which both rate and rotation were measured [mm], [-] */
  private advanceMm = 0;
  private turns = 0;

  /** Adds the interval between two consecutive samples: each reading counts with the mean of both. */
  span(first: MachineSample, next: MachineSample): void {
    const ms = next.atMs - first.atMs;
    for (const reading of Object.keys(this.sums) as Reading[])
      this.add(reading, between(first[reading], next[reading]), ms);
    this.turn(
      between(first.penetrationRateMmPerMin, next.penetrationRateMmPerMin),
      between(first.rotationRpm, next.rotationRpm),
      ms,
    );
  }

  /** Adds a time at the edge of the boring during which a sample's readings are assumed constant. */
  hold(sample: MachineSample, ms: number): void {
    for (const reading of Object.keys(this.sums) as Reading[]) this.add(reading, sample[reading], ms);
    this.turn(sample.penetrationRateMmPerMin, sample.rotationRpm, ms);
  }

  plus(other: SampleSums): void {
    for (const reading of Object.keys(this.sums) as Reading[]) {
      this.sums[reading].weighted += other.sums[reading].weighted;
      this.sums[reading].ms += other.sums[reading].ms;
    }
    this.advanceMm += other.advanceMm;
    this.turns += other.turns;
  }

  /** Time-weighted mean; null when never measured. */
  mean(reading: Reading): number | null {
    const { weighted, ms } = this.sums[reading];
    return ms > 0 ? weighted / ms : null;
  }

  /** Advance per revolution: the integral of the rate over that of the rotation; null without a revolution. [mm/rev] */
  penetrationMmPerRev(): number | null {
    return this.turns > 0 ? this.advanceMm / this.turns : null;
  }

  /** Mass over the belt weigher: the integral of the flow; null when never measured. [t] */
  muckMassT(): number | null {
    const { weighted, ms } = this.sums.muckFlowTPerH;
    return ms > 0 ? weighted / MS_PER_H : null;
  }

  private add(reading: Reading, value: number | null, ms: number): void {
    if (value === null) return;
    this.sums[reading].weighted += value * ms;
    this.sums[reading].ms += ms;
  }

  private turn(rateMmPerMin: number | null, rotationRpm: number | null, ms: number): void {
    if (rateMmPerMin === null || rotationRpm === null) return;
    this.advanceMm += (rateMmPerMin * ms) / MS_PER_MIN;
    this.turns += (rotationRpm * ms) / MS_PER_MIN;
  }
}
