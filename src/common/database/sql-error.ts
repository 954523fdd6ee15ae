/** What PostgreSQL said of a failed statement, wherever Prisma puts it. */
export interface SqlError {
  /** SQLSTATE; DB001 and DB002 are rules of our own schema */
  state: string;
  message: string;
}

interface Cause {
  originalCode?: unknown;
  originalMessage?: unknown;
}

export const sqlErrorOf = (error: unknown): SqlError | undefined => {
  const { meta, cause } = error as { meta?: { driverAdapterError?: { cause?: Cause } }; cause?: Cause };
  const { originalCode, originalMessage } = meta?.driverAdapterError?.cause ?? cause ?? {};
  return typeof originalCode === 'string'
    ? { state: originalCode, message: String(originalMessage) }
    : undefined;
};

export const sqlStateOf = (error: unknown): string | undefined => sqlErrorOf(error)?.state;

/** A unique or exclusion constraint met a row that stands already. */
export const isCollision = (error: unknown): boolean => ['23505', '23P01'].includes(sqlStateOf(error) ?? '');
