/** Seconds as 5:40, or as 5:40:30 or 5:40:30.500 where they are not whole minutes. [h:mm] */
export const hoursAndMinutes = (seconds: string): string => {
  const ms = Math.round(Number(seconds) * 1000);
  const two = (value: number): string => String(value).padStart(2, '0');
  const [hours, minutes, rest] = [Math.floor(ms / 3_600_000), Math.floor(ms / 60_000) % 60, ms % 60_000];
  if (rest === 0) return `${hours}:${two(minutes)}`;
  const fraction = rest % 1000 === 0 ? '' : `.${String(rest % 1000).padStart(3, '0')}`;
  return `${hours}:${two(minutes)}:${two(Math.floor(rest / 1000))}${fraction}`;
};
