import { createHash } from 'node:crypto';
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import type pg from 'pg';

const STAMP = 'Drivebook figures; views sha256 ';

/**
 * Puts the files of the folder into schema `report`, in the order of their names and in one transaction, unless
 * the schema's comment says that these very files are in.
 * @returns whether they were put in
 * @throws Error naming the file whose SQL failed
 */
export async function applyViews(client: pg.Client, folder: string): Promise<boolean> {
  const names = existsSync(folder)
    ? readdirSync(folder)
        .filter((name) => name.endsWith('.sql'))
        .sort()
    : [];
  const files = names.map((name) => ({ name, sql: readFileSync(path.join(folder, name), 'utf8') }));
  const stamp = STAMP + createHash('sha256').update(JSON.stringify(files)).digest('hex');
  const { rows } = await client.query<{ comment: string | null }>(
    `select obj_description(oid, 'pg_namespace') as comment from pg_namespace where nspname = 'report'`,
  );
  if (rows[0]?.comment === stamp) return false;
  await client.query('begin');
  try {
    await client.query('create schema if not exists report');
    for (const { name, sql } of files) {
      await client.query(sql).catch((error: Error) => {
        throw new Error(`View file ${name} failed: ${error.message}`, { cause: error });
      });
    }
    await client.query(`comment on schema report is '${stamp}'`);
    await client.query('commit');
  } catch (error) {
    await client.query('rollback');
    throw error;
  }
  return true;
}
