import type pg from 'pg';

/**
 * Does work in one transaction of a connection: all of it is committed, or nothing.
 * @param begin  opens the transaction, and may set what holds in it
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
