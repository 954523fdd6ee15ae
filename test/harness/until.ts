import { setTimeout as pause } from 'node:timers/promises';
import type { TestApp } from './app.js';

const LONGEST_MS = 300_000;

/** Polls until the condition holds, however slow the machine. @throws Error if it still does not after five minutes */
export const until = async (holds: () => boolean | Promise<boolean>): Promise<void> => {
  const end = performance.now() + LONGEST_MS;
  while (!(await holds())) {
    if (performance.now() > end) throw new Error('what is waited for has not come about');
    await pause(20);
  }
};

type Database = Pick<TestApp, 'sql'>;

/** The process ids of the sessions on the database of a service that are waiting for a lock, such as one held by the test. */
export const waitingSessions = async (app: Database): Promise<number[]> => {
  const rows = await app.sql<{ pid: number }>(
    `select pid from pg_stat_activity where datname = current_database() and backend_type = 'client backend' and wait_event_type = 'Lock'`,
  );
  return rows.map(({ pid }) => pid);
};

/** Waits until one is. */
export const untilOneWaits = (app: Database): Promise<void> =>
  until(async () => (await waitingSessions(app)).length > 0);
