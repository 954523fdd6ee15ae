import { setTimeout as pause } from 'node:timers/promises';

const LONGEST_MS = 300_000;

/** Polls until the condition holds, however slow the machine. @throws Error if it still does not after five minutes */
export const until = async (holds: () => boolean | Promise<boolean>): Promise<void> => {
  const end = performance.now() + LONGEST_MS;
  while (!(await holds())) {
    if (performance.now() > end) throw new Error('what is waited for has not come about');
    await pause(20);
  }
};

/** Waits until a statement on the database of a service is waiting for a lock held by the test. */
export const untilOneWaits = (app: { sql: (text: string) => Promise<unknown[]> }): Promise<void> =>
  until(
    async () =>
      (
        await app.sql(
          `select from pg_stat_activity where datname = current_database() and backend_type = 'client backend' and wait_event_type = 'Lock'`,
        )
      ).length > 0,
  );
