import type { Fault } from '../../common/api/problem.js';
import type { DriveFrame } from '../../common/drive-frame.js';

/** An interval in driven millimetres. */
export interface DrivenInterval {
  fromMm: number;
  toMm: number;
}

/** An interval in driven millimetres; what lies outside the drive or runs against it is added to the faults. */
export const drivenInterval = (
  { from, to }: { from: string; to: string },
  frame: DriveFrame,
  pointer: string,
  faults: Fault[],
): DrivenInterval => {
  const [fromMm, toMm] = [frame.drivenMm(from), frame.drivenMm(to)];
  const fault = (field: 'from' | 'to', value: string, detail: string): void => {
    faults.push({ in: 'body', pointer: `${pointer}/${field}`, value, detail });
  };
  const [before, after] = [frame.outside(fromMm), frame.outside(toMm)];
  if (before) fault('from', from, before);
  if (after) fault('to', to, after);
  if (toMm <= fromMm) {
    const way = frame.direction === 1 ? 'rising' : 'falling';
    fault('to', to, `${to} does not lie ahead of ${from}: the drive runs with ${way} chainage`);
  }
  return { fromMm, toMm };
};
