import { parseArgs } from 'node:util';
import pg from 'pg';
import { type BackupResult, writeBackup } from '../backup/write-backup.js';
import { loadConfig } from '../common/config/config.js';
import { shippedFolders } from '../common/database/migrate.js';
import { attachmentsDirOf, reachDatabase } from '../service.js';
import { command } from './command.js';

const USAGE = `drivebook backup FILE [--with-attachments]

  Writes one state of the whole database to a new file, while the service runs or not, and while others write: record,
  history, samples, members, keys and certified valuations. The file is a gzipped tar archive; it has its name only when
  it is whole, and is readable by its owner only. Check a backup by restoring it into another, empty database.

  --with-attachments   the files of the attachments too

What is not in it: the pepper of the API keys (API_KEY_PEPPER, or the file "api-key-pepper" in the data folder), the
logins of the server, and the settings. Keep them apart from it.

It reads the database of DATABASE_URL as the owner of the tables (DATABASE_OWNER_URL), or the embedded one of DATA_DIR.

Exit status: 0 done, 1 failed, 2 not understood.
`;

const OPTIONS = {
  'with-attachments': { type: 'boolean' },
  help: { type: 'boolean', short: 'h' },
} as const;

interface Request {
  file: string;
  withAttachments: boolean;
}

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): Request | undefined => {
  const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  if (values.help) return undefined;
  const [file, ...more] = positionals;
  if (file === undefined) throw new Error('Missing argument: the file to write.');
  if (more.length > 0) throw new Error(`Unexpected argument "${more.join(' ')}".`);
  return { file, withAttachments: values['with-attachments'] ?? false };
};

const inWords = (file: string, { head, tables, heads, attachments }: BackupResult): string => {
  const digests = Object.values(tables);
  const rows = digests.reduce((sum, table) => sum + table.rows, 0);
  return `${file}: the database as of ${head.madeAt}, ${digests.length} tables, ${rows} rows, ${heads.length} histories, ${attachments} files of attachments.\n`;
};

const write = async ({ file, withAttachments }: Request): Promise<number> => {
  const config = loadConfig();
  const database = await reachDatabase(config);
  const client = new pg.Client({ connectionString: database.ownerUrl });
  client.on('error', () => undefined); // the query under way fails with it
  try {
    const folder = attachmentsDirOf(config, database);
    if (withAttachments && folder === undefined)
      throw new Error('ATTACHMENTS_DIR is not set: the folder of the attachments is not known.');
    await client.connect();
    const result = await writeBackup(
      client,
      file,
      shippedFolders.version,
      withAttachments ? folder : undefined,
    );
    process.stdout.write(inWords(file, result));
    return 0;
  } finally {
    await client.end();
    await database.stop();
  }
};

/** `drivebook backup`: writes the whole database to a file. */
export const backup = command(USAGE, understood, write);
