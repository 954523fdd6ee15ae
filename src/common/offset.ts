const known = new Map<string, (instant: number) => number>();

/** The offset of a zone (IANA) from UTC at an instant, in minutes; undefined: there is no such zone. */
export const offsetAt = (timeZone: string): ((instant: number) => number) | undefined => {
  const before = known.get(timeZone);
  if (before) return before;
  let format: Intl.DateTimeFormat;
  try {
    format = new Intl.DateTimeFormat('en-US', { timeZone, timeZoneName: 'longOffset', hourCycle: 'h23' });
  } catch {
    return undefined;
  }
  const minutesAt = (instant: number): number => {
    const name = format.formatToParts(instant).find(({ type }) => type === 'timeZoneName')?.value ?? '';
    const [, sign = '+', hours = '0', minutes = '0'] = /GMT([+-])(\d{2}):(\d{2})/.exec(name) ?? [];
    return (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes));
  };
  known.set(timeZone, minutesAt);
  return minutesAt;
};

/** An offset as in ISO 8601. */
export const offsetText = (minutes: number): string => {
  const size = Math.abs(minutes);
  const two = (number: number): string => String(number).padStart(2, '0');
  return `${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
};
