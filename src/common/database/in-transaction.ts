import type pg from 'pg';

/**
 * Runs work in one transaction of a connection: all or nothing is committed.
 * @param begin  opens the transaction, and may set its local settings
 */
export const inTransaction = async <T>(
  client: pg.Client,
  work: () => Promise<T>,
  begin = 'begin',
): Promise<T> => {
  await client.query(begin);
  try {
    const result = await work();
    await client.query('commit');
    return result;
  } catch (error) {
    await client.query('rollback');
    throw error;
  }
};
