import {
  type DrivenInterval,
  drivenInterval,
  drivenPlace,
  type Note,
} from '../../../common/drive-interval.js';
import type { ShiftFrame } from './shift-rows.js';

export const byPlace = (a: DrivenInterval, b: DrivenInterval): number =>
  a.fromMm - b.fromMm || a.toMm - b.toMm;

const noteOf =
  ({ faults }: ShiftFrame): Note =>
  (pointer, value, detail) => {
    faults.add(pointer, value, detail);
  };

/** A chainage in driven millimetres; one outside the drive is a fault. */
export const readPlace = (chainage: string, pointer: string, frame: ShiftFrame): number =>
  drivenPlace(chainage, pointer, frame.context.frame, noteOf(frame));

/** An interval in driven millimetres, which must lie within the drive and run in its direction. */
export const readInterval = (
  interval: { from: string; to: string },
  pointer: string,
  frame: ShiftFrame,
): DrivenInterval => drivenInterval(interval, pointer, frame.context.frame, noteOf(frame));
