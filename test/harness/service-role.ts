import pg from 'pg';
import type { TestApp } from './app.js';

/** A session like the service's: with its role and search path. */
export const serviceSession = async (url: string): Promise<pg.Client> => {
  const client = new pg.Client({
    connectionString: url,
    options: '-c role=drivebook_app -c search_path=report,public -c timezone=UTC',
  });
  await client.connect();
  return client;
};

export const rowsOf = async <T extends pg.QueryResultRow = Record<string, unknown>>(
  client: pg.Client,
  sql: string,
  parameters: unknown[] = [],
): Promise<T[]> => (await client.query<T>(sql, parameters)).rows;

/** Runs the work in one transaction, within the scope of a project if one is given, and rolls it back. */
export const takenBack = async <T>(
  client: pg.Client,
  project: number | undefined,
  work: () => Promise<T>,
): Promise<T> => {
  await client.query('begin');
  try {
    if (project !== undefined)
      await client.query(`select set_config('drivebook.project', $1, true)`, [String(project)]);
    return await work();
  } finally {
    await client.query('rollback');
  }
};

/** Rows of a query on report_as_of for project P1 at an instant, from the record as it is now. */
export const foundAt = async <T extends pg.QueryResultRow = Record<string, unknown>>(
  { url, sql }: Pick<TestApp, 'url' | 'sql'>,
  instant: string,
  query: string,
  parameters: unknown[] = [],
): Promise<T[]> => {
  const session = await serviceSession(url);
  const [project] = await sql<{ id: number }>(`select id from project where code = 'P1'`);
  return takenBack(session, project?.id, async () => {
    await session.query(
      `select set_config('drivebook.as_of_change', max(number)::text, true),
        set_config('drivebook.as_of_instant', max(number) || ' ' || $1::text, true) from history.change`,
      [instant],
    );
    return rowsOf<T>(session, query, parameters);
  }).finally(() => session.end());
};

/** The database's error for the statements in one transaction, which is always rolled back; `taken` if there is none. */
export const refusalOf = (
  client: pg.Client,
  project: number | undefined,
  sql: string,
  parameters?: unknown[],
): Promise<{ state: string; constraint?: string; message?: string }> =>
  takenBack(client, project, async () => {
    try {
      await client.query(sql, parameters);
      await client.query('set constraints all immediate');
      return { state: 'taken' };
    } catch (error) {
      if (!(error instanceof pg.DatabaseError)) throw error;
      return { state: error.code ?? '', constraint: error.constraint, message: error.message };
    }
  });

/** The same for the owner of the tables, to whom no policy applies: constraint and message; `taken` if there is none. */
export const refusalToOwner = async (client: pg.Client, sql: string): Promise<string> => {
  await client.query('begin');
  try {
    await client.query(sql);
    await client.query('set constraints all immediate');
    return 'taken';
  } catch (error) {
    const { message, constraint } = error as pg.DatabaseError;
    return `${constraint}: ${message}`;
  } finally {
    await client.query('rollback');
  }
};
