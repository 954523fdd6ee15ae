import pg from 'pg';
import { faulty } from '../api/problem.js';
import type { Moment, Scope } from './scope.js';
import { inZone, SET_GROUND, type StatementLimits } from './session.js';

/** The limit of a statement of a reading, by its class. [ms] */
export const readingTimeoutMs = (limits: StatementLimits, { asOf, load }: Scope): number => {
  if (asOf) return limits.asOfTimeoutMs;
  const { statementTimeoutMs, lightTimeoutMs } = limits;
  return load && load.cost > 0 ? statementTimeoutMs : Math.min(lightTimeoutMs, statementTimeoutMs);
};

/** Names then mean the tables and figures as they stood; the record itself is out of reach. */
const AS_OF_PATH = `set_config('search_path', 'report_as_of, as_of, public', true)`;

/** Whether a moment has not been yet: by the clock that the history's moments are of, whatever the service's says. */
const isAhead = (instant: string): string =>
  `${pg.escapeLiteral(instant)}::timestamptz > clock_timestamp() as ahead`;

export const BEGIN_READING = {
  present: 'begin isolation level repeatable read read only', // one state, however many statements
  asOf: 'begin read only', // who waits for a change that is being made sees it then
};

/** The change after which the record stands at a moment; of a change that was asked for by its number, no instant. */
export interface Stand {
  change: number;
  instant?: string;
}

/** Chooses the change of a moment, and says whether the moment has been. */
export const choosing = (projectId: number, { instant }: Moment): string =>
  `select history.stand_at(${Number(projectId)}, ${pg.escapeLiteral(instant)}) as change, ${isAhead(instant)}`;

const standing = ({ change, instant }: Stand): string =>
  `set_config('drivebook.as_of_change', '${Number(change)}', true),
    set_config('drivebook.as_of_instant', ${instant === undefined ? "''" : pg.escapeLiteral(`${change} ${instant}`)}, true)`;

/** 12 significant digits: what a sum of binary fractions adds behind them is noise. */
const WITHOUT_NOISE = `set_config('extra_float_digits', '-3', true)`;

/** A statement that sets a reading to its scope and limit, to its stand where it has one, and to the form of its answers. */
export const settingScope = (current: Scope, limits?: StatementLimits, stand?: Stand): string =>
  [
    `select ${SET_GROUND}`,
    `set_config('drivebook.project', '${Number(current.projectId)}', true)`,
    inZone(String(Number(current.projectId))),
    WITHOUT_NOISE,
    ...(limits ? [`set_config('statement_timeout', '${readingTimeoutMs(limits, current)}', true)`] : []),
    ...(current.asOf ? [AS_OF_PATH] : []),
    ...(stand ? [standing(stand)] : []),
  ].join(', ');

/** Sets a reading to its scope, moment and limit, in one message. */
export const settingReading = (current: Scope, limits?: StatementLimits): string => {
  const { projectId, asOf } = current;
  const setting = settingScope(current, limits, asOf && 'change' in asOf ? asOf : undefined);
  return asOf && !('change' in asOf) ? `${setting}; ${choosing(projectId, asOf)}` : setting;
};

/** @throws ProblemError invalid when the opening of a reading found that its moment has not been */
export const assertPast = ({ asOf }: Scope, opened: { rows: object[] }[]): void => {
  if (!asOf || 'change' in asOf) return;
  if (!opened.some(({ rows: [row] }) => row && 'ahead' in row && row.ahead === true)) return;
  const detail = `asOf must not be in the future: it is ${asOf.instant}`;
  throw faulty('invalid', [{ in: asOf.in, pointer: '/asOf', value: asOf.instant, detail }]);
};
