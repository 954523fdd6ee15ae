import { type BackupResult, writeBackup } from '../backup/write-backup.js';
import { loadConfig } from '../common/config/config.js';
import { shippedFolders } from '../common/database/migrate.js';
import { attachmentsDirOf } from '../common/database/ready-database.js';
import { type AddCommand, notes, ON_DATABASE, print, toBeWritten, withJson } from './command.js';
import { asOwner, commandReach } from './command-database.js';

const inWords = (file: string, { head, tables, heads, attachments }: BackupResult): string => {
  const digests = Object.values(tables);
  const rows = digests.reduce((sum, table) => sum + table.rows, 0);
  return `${file}: the database as of ${head.madeAt}, ${digests.length} tables, ${rows} rows, ${heads.length} histories, ${attachments} files of attachments.\n`;
};

interface Options {
  withAttachments?: boolean;
  json?: boolean;
}

const write = async (file: string, { withAttachments, json }: Options): Promise<number> => {
  const config = loadConfig();
  const database = await commandReach(config);
  try {
    const folder = attachmentsDirOf(config, database);
    if (withAttachments && folder === undefined)
      throw new Error('ATTACHMENTS_DIR is not set: the folder of the attachments is not known.');
    const result = await asOwner(database, (client) =>
      writeBackup(client, file, shippedFolders.version, withAttachments ? folder : undefined),
    );
    print({ file, ...result }, json, () => inWords(file, result));
    return 0;
  } finally {
    await database.stop();
  }
};

const NOTES = `Examples:
  drivebook backup record.tar.gz
  drivebook backup record.tar.gz --with-attachments

Not in it: the pepper of the API keys (API_KEY_PEPPER, or the file "api-key-pepper" in the data folder),
the logins of the server, and the settings. Keep them separately.
${ON_DATABASE}`;

/** `drivebook backup`: writes the whole database to a file. */
export const addBackup: AddCommand = (program, finish) => {
  const command = program
    .command('backup')
    .summary('write the whole database to a file')
    .description(
      'Writes one state of the whole database to a new file, while others write: record, history, samples, members, keys and certified valuations. The file is a gzipped tar archive; it gets its name only when it is whole, and only its owner can read it. Check a backup by restoring it into another, empty database.',
    )
    .argument('<file>', 'the file to write', toBeWritten('<file>'))
    .option('--with-attachments', 'include the files of the attachments');
  withJson(command).action(async (file: string, options: Options) => finish(await write(file, options)));
  notes(command, NOTES);
};
