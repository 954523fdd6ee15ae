import { scope } from './database/scope.js';

const clock = (zone: string, moment: string, form: string): string =>
  `to_char(timezone(${zone}, ${moment}), '${form}')`;

const DAY_AND_TIME = 'YYYY-MM-DD HH24:MI';

/**
 * SQL of the moment that a reading shows, in the project's local time: the current day or, if the caller gives a moment, that
 * moment to the minute. A drawing of an unchanged record therefore stays the same all day and need not be sent again.
 * @param zone  SQL of the time zone
 */
export const momentAsked = (zone: string): string =>
  `${clock(zone, '(select moment_asked())', scope().asOf === undefined ? 'YYYY-MM-DD' : DAY_AND_TIME)} || ' (' || ${zone} || ')'`;

/** SQL of the last change contained in the reading: its number and its moment. */
export const lastChange = (zone: string): string =>
  `coalesce((select number || ' of ' || ${clock(zone, 'made_at', DAY_AND_TIME)} from change order by number desc limit 1), 'none')`;

/** SQL of both: the moment shown, and the last change. */
export const momentInWords = (zone: string): string =>
  `${momentAsked(zone)} || ', last change ' || ${lastChange(zone)}`;
