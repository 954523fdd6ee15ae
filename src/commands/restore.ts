import { type RestoreResult, restoreBackup } from '../backup/restore-backup.js';
import { loadConfig } from '../common/config/config.js';
import { migrate } from '../common/database/migrate.js';
import { prepareRoles } from '../common/database/roles.js';
import { attachmentsDirOf } from '../common/database/ready-database.js';
import { type AddCommand, fileThatExists, notes, print, withJson } from './command.js';
import { asOwner, commandReach } from './command-database.js';

const inWords = (
  { head, tail, missingMembers }: RestoreResult,
  applied: string[],
  attachmentsDir: string | undefined,
): string => {
  const tables = Object.values(tail.tables);
  const rows = tables.reduce((sum, table) => sum + table.rows, 0);
  return [
    `Restored ${head.project === undefined ? 'the database' : `project ${head.project}`} as of ${head.madeAt}: ${tables.length} tables, ${rows} rows, each as it was; ${tail.heads.length} histories sound.`,
    ...(applied.length > 0 ? [`Brought to this build by ${applied.length} migrations.`] : []),
    ...(tail.attachments === 0
      ? []
      : attachmentsDir === undefined
        ? [`${tail.attachments} files of attachments left out: ATTACHMENTS_DIR is not set.`]
        : [`${tail.attachments} files of attachments in ${attachmentsDir}.`]),
    ...(head.project === undefined
      ? []
      : [
          'Enter an administrator ("drivebook administrator add"), create new API keys and rotate the secrets of webhooks: a package contains none.',
        ]),
    ...missingMembers.map(
      (name) =>
        `Login ${name} of the old server may not work here: create it and run "grant drivebook_app to ${name}".`,
    ),
    '',
  ].join('\n');
};

const read = async (file: string, json: boolean | undefined): Promise<number> => {
  const config = loadConfig();
  const database = await commandReach(config, { creates: true });
  const attachmentsDir = attachmentsDirOf(config, database);
  try {
    await prepareRoles(database.ownerUrl, database.roles); // the migrations grant rights to these roles
    const result = await asOwner(database, (client) => restoreBackup(client, file, attachmentsDir));
    const { applied } = await migrate(database.ownerUrl);
    print({ ...result, applied, attachmentsDir }, json, () => inWords(result, applied, attachmentsDir));
    return 0;
  } finally {
    await database.stop();
  }
};

const NOTES = `Examples:
  DATA_DIR=/srv/drivebook drivebook restore record.tar.gz
  DATA_DIR=/srv/trial drivebook restore trial-2029.zip

The owner of the database (DATABASE_OWNER_URL) creates it, with no more rights than a first start needs.
Attachments go to ATTACHMENTS_DIR, or into the data folder of the embedded database. For API keys to work,
give the service the pepper of the old one: API_KEY_PEPPER, or its file "api-key-pepper" in the data
folder.`;

/** `drivebook restore`: reads a backup into a new database. */
export const addRestore: AddCommand = (program, finish) => {
  const command = program
    .command('restore')
    .summary('read a backup or a handover package into a new database')
    .description(
      'Reads a file of "drivebook backup", or the package of a project by "drivebook handover" (a folder or .zip file), into a new database: an empty one of DATABASE_URL, or the embedded one of a new DATA_DIR. It creates the tables as they were at the time of the backup, inserts the rows, compares each table with its digest and verifies every history; then it migrates the database to this build. An interrupted restore is not served; run it again.',
    )
    .argument('<file>', 'the backup, or the package', fileThatExists);
  withJson(command).action(async (file: string, { json }: { json?: boolean }) =>
    finish(await read(file, json)),
  );
  notes(command, NOTES);
};
