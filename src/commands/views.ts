import { parseArgs } from 'node:util';
import { loadConfig } from '../common/config/config.js';
import { migrate, shippedFolders } from '../common/database/migrate.js';
import { reachDatabase } from '../service.js';
import { command } from './command.js';

const USAGE = `drivebook views replace

  replace   puts the report views of this build in, whatever build's are there. A start does not: an older build that
            starts again during a rolling upgrade leaves the views of the newer one. Use it after a downgrade on purpose,
            when no instance of the newer build runs any more.

It works on the database of DATABASE_URL as the owner of the tables, or on the embedded one of DATA_DIR.

Exit status: 0 done, 1 failed, 2 not understood.
`;

/** Whether to replace; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): 'replace' | undefined => {
  const { values, positionals } = parseArgs({
    args,
    options: { help: { type: 'boolean', short: 'h' } },
    allowPositionals: true,
  });
  if (values.help) return undefined;
  if (positionals.join(' ') !== 'replace')
    throw new Error(`Unexpected argument "${positionals.join(' ')}": drivebook views takes replace.`);
  return 'replace';
};

const replace = async (): Promise<number> => {
  const database = await reachDatabase(loadConfig());
  try {
    await migrate(database.ownerUrl, shippedFolders, true);
    process.stdout.write(`The report views are those of this build, ${shippedFolders.version}.\n`);
    return 0;
  } catch (error) {
    throw new Error(
      `${(error as Error).message}\nWhere a newer view cannot be replaced by an older one, run "drop schema report cascade" as the owner first; grants on it are lost.`,
      { cause: error },
    );
  } finally {
    await database.stop();
  }
};

/** `drivebook views`: puts the views of an older build back on purpose. */
export const views = command(USAGE, understood, replace);
