import {
  chainageMm,
  type Direction,
  drivenMm,
  formatChainage,
  metresText,
  parseChainage,
} from '../engineering/chainage.js';

/** Start, end and direction of a drive: converts chainages to driven metres and back. */
export class DriveFrame {
  constructor(
    readonly startMm: number,
    readonly lengthMm: number,
    readonly direction: Direction,
  ) {}

  /** Driven millimetres of a chainage; below 0 or above the length if it lies outside the drive. */
  drivenMm(chainage: string | number): number {
    return drivenMm(parseChainage(String(chainage)), this.startMm, this.direction);
  }

  /** Driven metres of a chainage within the drive, or the fault as text. */
  driven(chainage: string | number): { metres: string } | { fault: string } {
    const mm = this.drivenMm(chainage);
    const fault = this.outside(mm);
    return fault ? { fault } : { metres: metresText(mm) };
  }

  /** Why a position does not lie within the drive, as text; undefined if it does. */
  outside(mm: number): string | undefined {
    if (mm < 0) return `${this.chainage(mm)} lies behind the start of the drive at ${this.chainage(0)}`;
    if (mm > this.lengthMm)
      return `${this.chainage(mm)} lies beyond the end of the drive at ${this.chainage(this.lengthMm)}`;
    return undefined;
  }

  /** Why an interval does not run in the direction of the drive, as text; undefined if it does. */
  against(from: string, to: string): string | undefined {
    if (this.drivenMm(to) > this.drivenMm(from)) return undefined;
    return `${to} does not lie ahead of ${from}: ${this.way}`;
  }

  /** The direction of the drive, in words. */
  get way(): string {
    return `the drive runs with ${this.direction === 1 ? 'rising' : 'falling'} chainage`;
  }

  /** Chainage of driven millimetres, in its written form. */
  chainage(mm: number): string {
    return formatChainage(chainageMm(mm, this.startMm, this.direction));
  }
}
