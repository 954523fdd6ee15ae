import type { ShiftFrame } from './shift-rows.js';

interface Interval {
  from: string;
  to: string;
}

interface Placed {
  fromMm: number;
  toMm: number;
}

export const byPlace = (a: Placed, b: Placed): number => a.fromMm - b.fromMm || a.toMm - b.toMm;

/** A chainage in driven millimetres; outside the drive is a fault. */
export const readPlace = (chainage: string, pointer: string, { context, faults }: ShiftFrame): number => {
  const mm = context.frame.drivenMm(chainage);
  const fault = context.frame.outside(mm);
  if (fault) faults.add(pointer, chainage, fault);
  return mm;
};

/** An interval in driven millimetres; it lies within the drive and runs in its direction. */
export const readInterval = ({ from, to }: Interval, pointer: string, frame: ShiftFrame): Placed => {
  const fromMm = readPlace(from, `${pointer}/from`, frame);
  const toMm = readPlace(to, `${pointer}/to`, frame);
  if (toMm <= fromMm) {
    const way = frame.context.frame.direction === 1 ? 'rising' : 'falling';
    frame.faults.add(
      `${pointer}/to`,
      to,
      `${to} does not lie ahead of ${from}: the drive runs with ${way} chainage`,
    );
  }
  return { fromMm, toMm };
};
