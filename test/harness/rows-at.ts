import pg from 'pg';

/** Rows of a query by its own connection, in UTC; one that breaks fails the query and nothing else. */
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
