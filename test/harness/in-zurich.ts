/** A moment in Zurich local time, with its offset. */
export const inZurich = (at: string | number): string => {
  const moment = new Date(at);
  const wall = moment.toLocaleString('sv-SE', { timeZone: 'Europe/Zurich' }).replace(' ', 'T');
  return `${wall}+0${(Date.parse(`${wall}Z`) - moment.getTime()) / 3_600_000}:00`;
};
