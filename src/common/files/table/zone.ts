import { offsetAt, offsetText } from '../../offset.js';
import { refused } from './forms.js';

/** Relates local times to UTC. */
export interface Zone {
  /** @param local  such as 2027-03-01T06:00:00 */
  offsetAt(local: string): { offset: string; fault?: undefined } | { offset?: undefined; fault: string };
}

const MINUTE_MS = 60_000;

/** @param text  an offset such as +01:00, or the name of a zone (IANA) @throws ProblemError invalid for anything else */
export const zoneOf = (text: string): Zone => {
  if (/^(Z|UTC)$/i.test(text)) return { offsetAt: () => ({ offset: 'Z' }) };
  const fixed = /^([+-])(0\d|1[0-4]):?([0-5]\d)$/.exec(text);
  if (fixed) return { offsetAt: () => ({ offset: `${fixed[1]}${fixed[2]}:${fixed[3]}` }) };
  const minutesAt = offsetAt(text);
  if (!minutesAt)
    throw refused(
      '/timeZone',
      text,
      'timeZone must be an offset such as +01:00, or a zone such as Europe/Zurich',
    );
  return {
    offsetAt: (local) => {
      const asUtc = Date.parse(`${local}Z`);
      if (Number.isNaN(asUtc)) return { fault: 'is no time of day' };
      const DAY_MS = 24 * 60 * MINUTE_MS;
      const offsets = [...new Set([minutesAt(asUtc - DAY_MS), minutesAt(asUtc + DAY_MS)])].filter(
        (minutes) => minutesAt(asUtc - minutes * MINUTE_MS) === minutes,
      );
      const [only, another] = offsets;
      if (only === undefined) return { fault: `does not exist in ${text}: the clock was put forward` };
      if (another !== undefined) return { fault: `is there twice in ${text}: give its offset from UTC` };
      return { offset: offsetText(only) };
    },
  };
};
