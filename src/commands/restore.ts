import { parseArgs } from 'node:util';
import pg from 'pg';
import { type RestoreResult, restoreBackup } from '../backup/restore-backup.js';
import { loadConfig } from '../common/config/config.js';
import { migrate } from '../common/database/migrate.js';
import { prepareRoles } from '../common/database/roles.js';
import { attachmentsDirOf, reachDatabase } from '../service.js';
import { command } from './command.js';

const USAGE = `drivebook restore FILE

  Reads what "drivebook backup" wrote into a new database: an empty one of DATABASE_URL, or the embedded one of a new
  DATA_DIR. It makes the tables as they were when the backup was made, puts the rows in, compares each table with its
  digest and verifies every history; then it brings the database to this build. Nothing is served of a restore that was
  interrupted; run it again.

The database is made by its owner (DATABASE_OWNER_URL), who needs no superuser but what a first start needs. Attachments
go to ATTACHMENTS_DIR, or into the data folder of the embedded database. To have API keys proven, give the service the
pepper of the old one: API_KEY_PEPPER, or its file "api-key-pepper" in the data folder.

Exit status: 0 restored and verified, 1 failed, 2 not understood.
`;

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): { file: string } | undefined => {
  const options = { help: { type: 'boolean', short: 'h' } } as const;
  const { values, positionals } = parseArgs({ args, options, allowPositionals: true });
  if (values.help) return undefined;
  const [file, ...more] = positionals;
  if (file === undefined) throw new Error('Missing argument: the file to read.');
  if (more.length > 0) throw new Error(`Unexpected argument "${more.join(' ')}".`);
  return { file };
};

const inWords = (
  { head, tail, missingMembers }: RestoreResult,
  applied: string[],
  attachmentsDir: string | undefined,
): string => {
  const tables = Object.values(tail.tables);
  const rows = tables.reduce((sum, table) => sum + table.rows, 0);
  return [
    `Restored the database as of ${head.madeAt}: ${tables.length} tables, ${rows} rows, each as it was; ${tail.heads.length} histories sound.`,
    ...(applied.length > 0 ? [`Brought to this build by ${applied.length} migrations.`] : []),
    ...(tail.attachments === 0
      ? []
      : attachmentsDir === undefined
        ? [`${tail.attachments} files of attachments left out: ATTACHMENTS_DIR is not set.`]
        : [`${tail.attachments} files of attachments in ${attachmentsDir}.`]),
    ...missingMembers.map(
      (name) =>
        `Login ${name} of the old server may not work here: create it and run "grant drivebook_app to ${name}".`,
    ),
    '',
  ].join('\n');
};

const read = async ({ file }: { file: string }): Promise<number> => {
  const config = loadConfig();
  const database = await reachDatabase(config);
  const attachmentsDir = attachmentsDirOf(config, database);
  try {
    await prepareRoles(database.ownerUrl, database.roles); // what the migrations grant to
    const client = new pg.Client({ connectionString: database.ownerUrl });
    client.on('error', () => undefined); // the query under way fails with it
    let result: RestoreResult;
    try {
      await client.connect();
      result = await restoreBackup(client, file, attachmentsDir);
    } finally {
      await client.end();
    }
    const { applied } = await migrate(database.ownerUrl);
    process.stdout.write(inWords(result, applied, attachmentsDir));
    return 0;
  } finally {
    await database.stop();
  }
};

/** `drivebook restore`: reads a backup into a new database. */
export const restore = command(USAGE, understood, read);
