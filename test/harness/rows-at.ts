import pg from 'pg';

/** Rows of a query over a new connection, in UTC; if it breaks, only the query fails. */
export const rowsAt = async <T extends pg.QueryResultRow>(url: string, text: string): Promise<T[]> => {
  const client = new pg.Client({ connectionString: url, options: '-c timezone=UTC' });
  client.on('error', () => undefined);
  await client.connect();
  try {
    return (await client.query<T>(text)).rows;
  } finally {
    await client.end().catch(() => undefined);
  }
};
