import type { DriveFrame } from './drive-frame.js';

/** Reports a fault of the body: place, value, rule. */
export type Note = (pointer: string, value: unknown, detail: string) => void;

/** An interval in driven millimetres. */
export interface DrivenInterval {
  fromMm: number;
  toMm: number;
}

/** A chainage in driven millimetres; one outside the drive is a fault. */
export const drivenPlace = (chainage: string, pointer: string, frame: DriveFrame, note: Note): number => {
  const mm = frame.drivenMm(chainage);
  const outside = frame.outside(mm);
  if (outside) note(pointer, chainage, outside);
  return mm;
};

/** An interval in driven millimetres, which must lie within the drive and run in its direction. */
export const drivenInterval = (
  { from, to }: { from: string; to: string },
  pointer: string,
  frame: DriveFrame,
  note: Note,
): DrivenInterval => {
  const fromMm = drivenPlace(from, `${pointer}/from`, frame, note);
  const toMm = drivenPlace(to, `${pointer}/to`, frame, note);
  const against = frame.against(from, to);
  if (against) note(`${pointer}/to`, to, against);
  return { fromMm, toMm };
};
