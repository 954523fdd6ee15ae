import pg from 'pg';
import { PROJECT } from './site.js';

/**
 * Keeps the invented drive out of a real record. Checked before anything is migrated or written.
 * @throws Error in one sentence when the database holds another project
 */
export const refuseRealRecord = async (databaseUrl: string): Promise<void> => {
  const client = new pg.Client({ connectionString: databaseUrl });
  await client.connect();
  try {
    const { rows: known } = await client.query<{ there: boolean }>(
      `select to_regclass('public.project') is not null as there`,
    );
    if (!known[0]?.there) return;
    const { rows } = await client.query<{ code: string }>(
      'select code from public.project where (code, name) <> ($1, $2) order by code',
      [PROJECT.code, PROJECT.input.name],
    );
    if (rows.length === 0) return;
    throw new Error(
      `The database of DATABASE_URL holds a record (project ${rows.map(({ code }) => code).join(', ')}): the invented drive must not mix with it, so name an empty database, or leave DATABASE_URL out and the demo uses its own.`,
    );
  } finally {
    await client.end();
  }
};
