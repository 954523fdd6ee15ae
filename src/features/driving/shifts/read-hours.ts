import type { ShiftFrame } from './shift-rows.js';
import { moment } from '../../../common/words.js';

interface Hours {
  startedAt: string;
  endedAt: string;
}

/** A moment within the shift; any other is a fault. */
export const readMoment = (
  value: string,
  pointer: string,
  what: string,
  { startsAt, endsAt, faults, context: { timeZone } }: ShiftFrame,
): number => {
  const at = Date.parse(value);
  if (at < startsAt || at > endsAt)
    faults.add(
      pointer,
      value,
      `${what} at ${value} lies outside the shift, ${moment(startsAt, timeZone)} to ${moment(endsAt, timeZone)}`,
    );
  return at;
};

/** Start and end, both within the shift. */
export const readHours = (
  hours: Hours,
  pointer: string,
  what: string,
  frame: ShiftFrame,
): { startedAt: number; endedAt: number } => {
  const startedAt = readMoment(hours.startedAt, `${pointer}/startedAt`, `the start of ${what}`, frame);
  const endedAt = readMoment(hours.endedAt, `${pointer}/endedAt`, `the end of ${what}`, frame);
  if (endedAt <= startedAt)
    frame.faults.add(
      `${pointer}/endedAt`,
      hours.endedAt,
      `${what} ends at ${hours.endedAt}, which is not after its start at ${hours.startedAt}`,
    );
  return { startedAt, endedAt };
};
