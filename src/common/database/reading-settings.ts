import pg from 'pg';
import { faulty } from '../api/problem.js';
import type { Moment, Scope } from './scope.js';
import { inZone, SET_GROUND, type StatementLimits } from './session.js';

/** Time limit of a statement of a reading, by its class. [ms] */
export const readingTimeoutMs = (limits: StatementLimits, { asOf, load }: Scope): number => {
  if (asOf) return limits.asOfTimeoutMs;
  const { statementTimeoutMs, lightTimeoutMs } = limits;
  return load && load.cost > 0 ? statementTimeoutMs : Math.min(lightTimeoutMs, statementTimeoutMs);
};

/** Unqualified names then mean the tables and figures as of the moment; the current record is out of reach. */
const AS_OF_PATH = `set_config('search_path', 'report_as_of, as_of, public', true)`;

/** Whether a moment is in the future: by the clock of the history's moments, whatever the service's clock says. */
const isAhead = (instant: string): string =>
  `${pg.escapeLiteral(instant)}::timestamptz > clock_timestamp() as ahead`;

export const BEGIN_READING = {
  present: 'begin isolation level repeatable read read only', // one state for all statements
  asOf: 'begin read only', // a statement that waits for a change in progress then sees it
};

/** The last change as of a moment; where a change was requested by number, without an instant. */
export interface Stand {
  change: number;
  instant?: string;
}

/** Chooses the change for a moment, and reports whether the moment is past. */
export const choosing = (projectId: number, { instant }: Moment): string =>
  `select history.stand_at(${Number(projectId)}, ${pg.escapeLiteral(instant)}) as change, ${isAhead(instant)}`;

const standing = ({ change, instant }: Stand): string =>
  `set_config('drivebook.as_of_change', '${Number(change)}', true),
    set_config('drivebook.as_of_instant', ${instant === undefined ? "''" : pg.escapeLiteral(`${change} ${instant}`)}, true)`;

/** 12 significant digits: beyond them, sums of binary fractions are noise. */
const WITHOUT_NOISE = `set_config('extra_float_digits', '-3', true)`;

/** A statement that sets a reading's scope and limit, its change where it has one, and the number format of answers. Its row has no columns to be read. */
export const settingScope = (current: Scope, limits?: StatementLimits, stand?: Stand): string =>
  `select from (select ${[
    SET_GROUND,
    `set_config('drivebook.project', '${Number(current.projectId)}', true)`,
    inZone(String(Number(current.projectId))),
    WITHOUT_NOISE,
    ...(limits ? [`set_config('statement_timeout', '${readingTimeoutMs(limits, current)}', true)`] : []),
    ...(current.asOf ? [AS_OF_PATH] : []),
    ...(stand ? [standing(stand)] : []),
  ].join(', ')}) settings`;

/** Sets a reading's scope, moment and limit, in one message. */
export const settingReading = (current: Scope, limits?: StatementLimits): string => {
  const { projectId, asOf } = current;
  const setting = settingScope(current, limits, asOf && 'change' in asOf ? asOf : undefined);
  return asOf && !('change' in asOf) ? `${setting}; ${choosing(projectId, asOf)}` : setting;
};

/** @throws ProblemError invalid when the opening of a reading found its moment to be in the future */
export const assertPast = ({ asOf }: Scope, opened: { rows: object[] }[]): void => {
  if (!asOf || 'change' in asOf) return;
  if (!opened.some(({ rows: [row] }) => row && 'ahead' in row && row.ahead === true)) return;
  const detail = `asOf must not be in the future: it is ${asOf.instant}`;
  throw faulty('invalid', [{ in: asOf.in, pointer: '/asOf', value: asOf.instant, detail }]);
};
