import { refused } from './forms.js';

/** Relates local times to UTC. */
export interface Zone {
  /** @param local  such as 2027-03-01T06:00:00 */
  offsetAt(local: string): { offset: string; fault?: undefined } | { offset?: undefined; fault: string };
}

const MINUTE_MS = 60_000;

const written = (minutes: number): string => {
  const size = Math.abs(minutes);
  const two = (number: number): string => String(number).padStart(2, '0');
  return `${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
};

/** @param text  an offset such as +01:00, or the name of a zone (IANA) @throws ProblemError invalid for anything else */
export const zoneOf = (text: string): Zone => {
  if (/^(Z|UTC)$/i.test(text)) return { offsetAt: () => ({ offset: 'Z' }) };
  const fixed = /^([+-])(0\d|1[0-4]):?([0-5]\d)$/.exec(text);
  if (fixed) return { offsetAt: () => ({ offset: `${fixed[1]}${fixed[2]}:${fixed[3]}` }) };
  let format: Intl.DateTimeFormat;
  try {
    format = new Intl.DateTimeFormat('en-US', {
      timeZone: text,
      timeZoneName: 'longOffset',
      hourCycle: 'h23',
    });
  } catch {
    throw refused(
      '/timeZone',
      text,
      'timeZone must be an offset such as +01:00, or a zone such as Europe/Zurich',
    );
  }
  const minutesAt = (instant: number): number => {
    const name = format.formatToParts(instant).find(({ type }) => type === 'timeZoneName')?.value ?? '';
    const [, sign = '+', hours = '0', minutes = '0'] = /GMT([+-])(\d{2}):(\d{2})/.exec(name) ?? [];
    return (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes));
  };
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
      return { offset: written(only) };
    },
  };
};
