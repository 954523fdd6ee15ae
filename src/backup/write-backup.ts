import { createReadStream, createWriteStream, existsSync, renameSync, rmSync, statSync } from 'node:fs';
import path from 'node:path';
import { pipeline } from 'node:stream/promises';
import { createGzip } from 'node:zlib';
import type pg from 'pg';
import tar from 'tar-stream';
import { assertNew } from '../common/files/disk.js';
import { filePath } from '../common/files/file-places.js';
import {
  type AppliedMigration,
  ATTACHMENTS,
  type BackupHead,
  type BackupTail,
  FORMAT,
  HEAD,
  nameOf,
  TABLES,
  TAIL,
} from './format.js';
import { auditHeads, Digesting, PLAIN_TEXT, rowsOut, sequenceValues, tableShapes } from './record-tables.js';

/** Rows are written in pieces of this size, so that a table of any size takes little memory. [bytes] */
const PIECE_BYTES = 4 * 1024 * 1024;

/** Adds entries to the archive one after the other, no faster than the disk accepts them. */
class Archive {
  readonly pack = tar.pack();

  constructor(private readonly mtime: Date) {}

  add(name: string, content: Buffer | string): Promise<void> {
    const bytes = Buffer.from(content);
    return this.entry(name, bytes.length, (sink) => void sink.end(bytes));
  }

  addFile(name: string, file: string): Promise<void> {
    return this.entry(name, statSync(file).size, (sink, fail) => {
      createReadStream(file).once('error', fail).pipe(sink);
    });
  }

  private entry(
    name: string,
    size: number,
    write: (sink: NodeJS.WritableStream, fail: (error: Error) => void) => void,
  ): Promise<void> {
    return new Promise((resolve, reject) => {
      const header = { name, size, mode: 0o600, mtime: this.mtime };
      write(
        this.pack.entry(header, (error) => (error ? reject(error) : resolve())),
        reject,
      );
    });
  }
}

/** @throws Error in one sentence when the login would see only some of the rows */
const assertOwner = async (client: pg.Client): Promise<void> => {
  const { rows } = await client.query<{ owner: string; login: string }>(
    `select distinct pg_get_userbyid(c.relowner) as owner, current_user as login from pg_class c
     where c.relnamespace in (select oid from pg_namespace where nspname in ('public', 'history')) and c.relkind in ('r', 'p')
       and not pg_has_role(current_user, c.relowner, 'USAGE')
       and not exists (select from pg_roles where rolname = current_user and (rolsuper or rolbypassrls))`,
  );
  const [other] = rows;
  if (other)
    throw new Error(
      `A backup needs the owner of the tables, ${other.owner}: row-level security hides rows from ${other.login}. Set DATABASE_OWNER_URL.`,
    );
};

const headOf = async (client: pg.Client, version: string): Promise<BackupHead> => {
  const { rows: migrations } = await client.query<AppliedMigration>(
    `select migration_name as name, checksum from _prisma_migrations
     where finished_at is not null and rolled_back_at is null order by migration_name collate "C"`,
  );
  const [about] = (
    await client.query<{ madeAt: string; server: string }>(
      `select to_char(now() at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') as "madeAt", current_setting('server_version') as server`,
    )
  ).rows;
  if (!about) throw new Error('PostgreSQL did not return the time.');
  const { rows: members } = await client.query<{ name: string }>(
    `select m.rolname as name from pg_auth_members a join pg_roles m on m.oid = a.member
     join pg_roles r on r.oid = a.roleid
     where r.rolname = 'drivebook_app' and m.rolcanlogin and m.rolname <> current_user order by 1`,
  );
  return {
    format: FORMAT,
    version,
    ...about,
    migrations,
    tables: await tableShapes(client),
    sequences: await sequenceValues(client),
    members: [...new Set(members.map(({ name }) => name))],
  };
};

interface KeptFile {
  projectId: number;
  digest: string;
}

const addAttachments = async (client: pg.Client, archive: Archive, folder: string): Promise<number> => {
  const { rows } = await client.query<KeptFile>(
    'select distinct project_id as "projectId", digest from history.attached_file order by 1, 2',
  );
  for (const { projectId, digest } of rows) {
    const file = filePath(folder, projectId, digest);
    if (!existsSync(file))
      throw new Error(
        `The attachment ${file} is missing: see "drivebook attachments verify", or make the backup without --with-attachments.`,
      );
    await archive.addFile(ATTACHMENTS + path.relative(folder, file).split(path.sep).join('/'), file);
  }
  return rows.length;
};

const addTables = async (
  client: pg.Client,
  archive: Archive,
  { tables }: BackupHead,
): Promise<BackupTail['tables']> => {
  const digests: BackupTail['tables'] = {};
  for (const table of tables) {
    const digesting = new Digesting();
    let [pieces, held, count]: [Buffer[], number, number] = [[], 0, 0];
    const flush = async (): Promise<void> => {
      const content = Buffer.concat(pieces);
      [pieces, held, count] = [[], 0, count + 1];
      await archive.add(`${TABLES}${nameOf(table)}/${String(count).padStart(6, '0')}.copy`, content);
    };
    for await (const piece of rowsOut(client, table)) {
      digesting.add(piece as Buffer);
      pieces.push(piece as Buffer);
      held += (piece as Buffer).length;
      if (held >= PIECE_BYTES) await flush();
    }
    if (held > 0) await flush();
    digests[nameOf(table)] = digesting.digest();
  }
  return digests;
};

export interface BackupResult extends BackupTail {
  head: BackupHead;
}

/**
 * Writes one state of the whole database to a file while others keep writing: everything is read in one snapshot. The file is
 * written under a temporary name and renamed at the end, so that a file of the final name is a complete backup.
 * @param attachmentsDir  the attachments folder, if its files are to be included
 * @throws Error when the file exists, cannot be written, or the login is not the owner
 */
export const writeBackup = async (
  client: pg.Client,
  file: string,
  version: string,
  attachmentsDir?: string,
): Promise<BackupResult> => {
  assertNew(file);
  const half = `${file}.${process.pid}.partial`;
  await client.query(PLAIN_TEXT);
  await client.query('begin isolation level repeatable read read only');
  await assertOwner(client);
  const head = await headOf(client, version);
  const archive = new Archive(new Date(head.madeAt));
  const packed = createGzip({ level: 4 });
  const written = pipeline(
    archive.pack,
    packed,
    createWriteStream(half, { flags: 'wx', mode: 0o600, flush: true }),
  );
  const filled = async (): Promise<BackupTail> => {
    await archive.add(HEAD, JSON.stringify(head, undefined, 1));
    const tables = await addTables(client, archive, head);
    const heads = await auditHeads(client);
    const attachments =
      attachmentsDir === undefined ? 0 : await addAttachments(client, archive, attachmentsDir);
    const tail = { tables, heads, attachments };
    await archive.add(TAIL, JSON.stringify(tail, undefined, 1));
    archive.pack.finalize();
    return tail;
  };
  try {
    const [tail] = await Promise.all([filled(), written]); // a full disk ends both
    await client.query('commit');
    renameSync(half, file);
    return { head, ...tail };
  } catch (error) {
    archive.pack.destroy();
    await written.catch(() => undefined);
    rmSync(half, { force: true });
    throw error;
  }
};
