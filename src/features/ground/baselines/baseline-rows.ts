import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import { drivenInterval, type DrivenInterval } from '../../../common/drive-interval.js';
import { unknownCode } from '../../../common/unknown-code.js';
import type { BaselineInput, BaselineInterval } from './baseline.models.js';

/** An interval as stored. */
export interface BaselineRow {
  fromM: string;
  toM: string;
  groundClassId: number;
  lithology: string | null;
  waterInflowLPerMin: string | null;
  advanceRateMPerD: string;
}

type Placed = BaselineInterval & DrivenInterval & { index: number };

/** The intervals as stored. @throws ProblemError invalid with every fault of place and class, or every gap and overlap */
export const baselineRows = (
  { intervals }: BaselineInput,
  frame: DriveFrame,
  classes: ReadonlyMap<string, number>,
): BaselineRow[] => {
  const faults: Fault[] = [];
  const codes = [...classes.keys()];
  const note = (pointer: string, value: unknown, detail: string): unknown =>
    faults.push({ in: 'body', pointer, value, detail });
  const placed = intervals.map((interval, index): Placed => {
    const pointer = `/intervals/${index}`;
    const { groundClass } = interval;
    if (!classes.has(groundClass))
      note(`${pointer}/groundClass`, groundClass, unknownCode('ground class', groundClass, codes));
    return { ...interval, ...drivenInterval(interval, pointer, frame, note), index };
  });
  if (faults.length === 0) faults.push(...untiled(placed, frame));
  if (faults.length > 0) throw faulty('invalid', faults);
  return placed.map((interval) => ({
    fromM: metresText(interval.fromMm),
    toM: metresText(interval.toMm),
    groundClassId: classes.get(interval.groundClass) as number,
    lithology: interval.lithology ?? null,
    waterInflowLPerMin: interval.waterInflowLPerMin ?? null,
    advanceRateMPerD: interval.advanceRateMPerD,
  }));
};

/** Every gap and overlap along the drive, reported at the interval ahead of it; at the end of the drive, at the last interval. */
const untiled = (placed: Placed[], frame: DriveFrame): Fault[] => {
  const faults: Fault[] = [];
  const reported = ({ index }: Placed, field: 'from' | 'to', value: string, detail: string): void => {
    faults.push({ in: 'body', pointer: `/intervals/${index}/${field}`, value, detail });
  };
  const missing = (fromMm: number, toMm: number): string =>
    `${frame.chainage(fromMm)} to ${frame.chainage(toMm)} is missing: a baseline must cover its drive from start to end without gap or overlap`;
  const along = [...placed].sort((a, b) => a.fromMm - b.fromMm || a.toMm - b.toMm);
  let furthest: Placed | undefined;
  for (const interval of along) {
    const reached = furthest?.toMm ?? 0;
    if (interval.fromMm > reached)
      reported(interval, 'from', interval.from, missing(reached, interval.fromMm));
    if (furthest && interval.fromMm < reached) {
      const twice = metresText(Math.min(reached, interval.toMm) - interval.fromMm);
      const detail = `${interval.from} to ${interval.to} overlaps the interval ${furthest.from} to ${furthest.to}: ${twice} m twice`;
      reported(interval, 'from', interval.from, detail);
    }
    if (interval.toMm > reached) furthest = interval;
  }
  if (furthest && furthest.toMm < frame.lengthMm)
    reported(furthest, 'to', furthest.to, missing(furthest.toMm, frame.lengthMm));
  return faults;
};
