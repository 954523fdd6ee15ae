import type { Config } from '../common/config/config.js';
import { type ReadyDatabase, readyDatabase } from '../service.js';

type Named = Pick<ReadyDatabase, 'ownerUrl' | 'dataDir' | 'isServed'>;

/** The database of a command in one line, without its password. */
const nameOf = ({ ownerUrl, dataDir, isServed }: Named): string => {
  if (dataDir !== undefined)
    return `the embedded one in ${dataDir}${isServed ? ', of the running service' : ''}`;
  const { hostname, port, pathname } = new URL(ownerUrl);
  return `${pathname.slice(1)} on ${hostname}${port === '' ? '' : `:${port}`}`;
};

/** Names the database that a command works on, on standard error: it may be another than its user thinks. */
export const tellDatabase = (database: Named): void => {
  process.stderr.write(`Database: ${nameOf(database)}.\n`);
};

/**
 * The database of the settings, prepared for the work of a command, and named. The embedded one is that of the running
 * service where one runs, and is started otherwise.
 */
export const commandDatabase = async (config: Config): Promise<ReadyDatabase> => {
  const database = await readyDatabase(config, { beside: true });
  tellDatabase(database);
  return database;
};
