import { createHash } from 'node:crypto';
import { createWriteStream, mkdirSync, renameSync, rmSync } from 'node:fs';
import path from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import type pg from 'pg';
import { enterMigrations, migrateTo } from '../common/database/migrate.js';
import { ATTACHMENTS, type BackupHead, type BackupTail, nameOf, type TableDigest, TABLES } from './format.js';
import { detachMonths, assertTables, makeMonths, TableLoader, unguard } from './load-tables.js';
import { type BackupReader, type Entry, readBackup } from './read-backup.js';
import { isHandover, readHandover } from './read-handover.js';
import { digestOf, PLAIN_TEXT } from './record-tables.js';

// Exists while a restore is in progress: the transaction that loads the rows drops it, and no service starts before that.
const MARK = `create schema if not exists _drivebook;
  create table if not exists _drivebook.restore_begun ()`;

/** Tables, views and the like created by others, except those of extensions and of an interrupted restore. */
const FOREIGN = `select n.nspname || '.' || c.relname as name from pg_class c join pg_namespace n on n.oid = c.relnamespace
  where n.nspname !~ '^pg_' and n.nspname <> 'information_schema' and c.relkind in ('r', 'p', 'v', 'm', 'f', 'S')
    and not exists (select from pg_depend d where d.objid = c.oid and d.deptype = 'e')
    and to_regclass('_drivebook.restore_begun') is null
  order by 1 limit 1`;

const OTHER_STATE = `select from _prisma_migrations where not migration_name = any ($1) limit 1`;

/** Marks the database. @throws Error when it is not empty, unless an earlier restore of such a backup into it was interrupted */
const begin = async (client: pg.Client, { migrations }: BackupHead): Promise<void> => {
  const [foreign] = (await client.query<{ name: string }>(FOREIGN)).rows;
  if (foreign)
    throw new Error(
      `The database is not empty: it holds ${foreign.name}. A backup is restored into a new database only.`,
    );
  await client.query(MARK);
  await enterMigrations(client);
  const { rowCount } = await client.query(OTHER_STATE, [migrations.map(({ name }) => name)]);
  if (rowCount !== 0)
    throw new Error(
      'The restore that was interrupted was of a newer backup: drop the database, create it anew and run this again.',
    );
};

const same = (a: TableDigest | undefined, b: TableDigest): boolean =>
  a?.rows === b.rows && a.sha256 === b.sha256;

const EMPTY: TableDigest = { rows: 0, sha256: createHash('sha256').digest('hex') };

/** @throws Error naming the table that differs from the backup */
const assertDigests = async (
  client: pg.Client,
  { tables }: BackupHead,
  { tables: expected }: BackupTail,
  read: ReadonlyMap<string, TableDigest>,
): Promise<void> => {
  for (const table of tables) {
    const name = nameOf(table);
    const digest = expected[name];
    if (!digest || !same(read.get(name) ?? EMPTY, digest))
      throw new Error(`The backup is damaged: the rows of ${name} are not those that were written.`);
    if (!same(await digestOf(client, table), digest))
      throw new Error(`The rows of ${name} are not in the database as they are in the backup.`);
  }
};

/** @throws Error naming the first faulty entry of a history */
const assertHistory = async (client: pg.Client, { heads }: BackupTail): Promise<void> => {
  for (const { projectId, number, hash } of heads) {
    const [fault] = (
      await client.query<{ number: string; fault: string }>(
        `select number, fault from history.first_fault($1, $2, decode($3, 'hex'))`,
        [projectId, number, hash],
      )
    ).rows;
    if (fault)
      throw new Error(
        `The history of project ${projectId} is not sound: entry ${fault.number}: ${fault.fault}.`,
      );
  }
};

/** A path within an attachments folder, as written: project, two parts of the digest, digest. */
const PLACE = /^\d+\/[0-9a-f]{2}\/[0-9a-f]{2}\/([0-9a-f]{64})$/;

/** Writes a file of an attachment, completely or not at all. @throws Error when its content does not match the digest in its name */
const putFile = async (folder: string, { name, content }: Entry): Promise<void> => {
  const place = name.slice(ATTACHMENTS.length);
  const [, digest] = PLACE.exec(place) ?? [];
  if (digest === undefined)
    throw new Error(`The backup is damaged: ${name} is not the path of an attachment.`);
  const file = path.join(folder, ...place.split('/'));
  const half = `${file}.${process.pid}.partial`;
  const hash = createHash('sha256');
  mkdirSync(path.dirname(file), { recursive: true, mode: 0o700 });
  try {
    await pipeline(
      Readable.from(content),
      async function* (pieces: AsyncIterable<Buffer>) {
        for await (const piece of pieces) {
          hash.update(piece);
          yield piece;
        }
      },
      createWriteStream(half, { mode: 0o600, flush: true }),
    );
    if (hash.digest('hex') !== digest)
      throw new Error(`The backup is damaged: ${name} has different content.`);
    renameSync(half, file);
  } finally {
    rmSync(half, { force: true });
  }
};

export interface RestoreResult {
  head: BackupHead;
  tail: BackupTail;
  /** Logins of the backup's server that cannot work in the service's role here. */
  missingMembers: string[];
}

const MISSING_MEMBERS = `select name from unnest($1::text[]) as name
  where not exists (select from pg_roles r where r.rolname = name and pg_has_role(r.oid, 'drivebook_app', 'MEMBER')) order by 1`;

/** Loads and checks a backup within the current transaction. */
class Restoring {
  head: BackupHead | undefined;
  private loader: TableLoader | undefined;
  private guards: string[] = [];
  private leftOutBytes = 0;
  result: RestoreResult | undefined;

  constructor(
    private readonly client: pg.Client,
    private readonly attachmentsDir: string | undefined,
  ) {}

  async begin(head: BackupHead): Promise<void> {
    const { client } = this;
    this.head = head;
    await begin(client, head);
    await migrateTo(client, head.migrations);
    await client.query('begin');
    await makeMonths(client, head);
    this.guards = await unguard(client);
    await assertTables(client, head);
    this.loader = new TableLoader(client, head);
  }

  async add(entry: Entry): Promise<void> {
    const { name, content } = entry;
    if (name.startsWith(TABLES)) {
      await this.loader?.add(name.split('/')[1] ?? '', content);
    } else if (name.startsWith(ATTACHMENTS) && this.attachmentsDir !== undefined) {
      await this.loader?.end();
      await putFile(this.attachmentsDir, entry);
    } else {
      for await (const { length } of content) this.leftOutBytes += length; // must be read to reach the next entry
    }
  }

  async end(tail: BackupTail): Promise<void> {
    const { client, head, loader } = this;
    if (!head || !loader) throw new Error('The backup is damaged: its end comes before its beginning.');
    const read = await loader.end();
    for (const guard of this.guards) await client.query(guard);
    for (const { name, value, called } of head.sequences)
      await client.query('select setval($1::regclass, $2::bigint, $3)', [name, value, called]);
    await detachMonths(client, head);
    if (head.retiredMonths)
      await client.query(
        `insert into _drivebook.retired_sample_month (month, detached_by) select month, 'handover' from unnest($1::date[]) as month`,
        [head.retiredMonths],
      );
    await assertDigests(client, head, tail, read);
    await assertHistory(client, tail);
    await client.query('drop table _drivebook.restore_begun');
    const { rows } = await client.query<{ name: string }>(MISSING_MEMBERS, [head.members]);
    this.result = { head, tail, missingMembers: rows.map(({ name }) => name) };
  }
}

/**
 * Restores a backup, or the package of a project, into an empty database, with the migrations of its time. One transaction loads
 * the rows, and commits once they are verified against the backup and the history is sound; until then the database is marked
 * as being restored, and the same restore can be run again.
 * @param attachmentsDir  folder for the files of attachments; undefined: they are left out
 * @throws Error when the database is not empty, or the backup is damaged or from a newer build
 */
export const restoreBackup = async (
  client: pg.Client,
  file: string,
  attachmentsDir?: string,
): Promise<RestoreResult> => {
  await client.query(PLAIN_TEXT);
  const restoring = new Restoring(client, attachmentsDir);
  const reader: BackupReader = {
    head: (head) => restoring.begin(head),
    entry: (entry) => restoring.add(entry),
    tail: (tail) => restoring.end(tail),
  };
  await ((await isHandover(file)) ? readHandover(file, reader) : readBackup(file, reader));
  if (!restoring.result) throw new Error(`${file} holds no backup.`);
  await client.query('commit');
  await client.query('analyze');
  return restoring.result;
};
