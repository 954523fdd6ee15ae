import type { Transaction } from './database.js';
import { IDLE_IN_TRANSACTION_MS } from './session.js';

const PING_MS = IDLE_IN_TRANSACTION_MS / 3;

/**
 * Waits for work outside the database while a transaction is open. PostgreSQL terminates a transaction that is idle for too long,
 * and a thread may be busy with other callers' tables for longer than that.
 */
export const keepAwake = async <T>(
  transaction: Transaction,
  work: Promise<T>,
  pingMs = PING_MS,
): Promise<T> => {
  const ping = (): unknown => transaction.$executeRawUnsafe('select 1').catch(() => undefined); // the next statement reports the failure
  const timer = setInterval(ping, pingMs);
  try {
    return await work;
  } finally {
    clearInterval(timer);
  }
};
