import { setTimeout as pause } from 'node:timers/promises';

const LONGEST_MS = 300_000;

/** Asks again until it holds, however long a loaded machine takes; what follows asserts that it does. */
export const until = async (holds: () => boolean | Promise<boolean>): Promise<void> => {
  const end = performance.now() + LONGEST_MS;
  while (!(await holds()) && performance.now() < end) await pause(20);
};
