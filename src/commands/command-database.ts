import pg from 'pg';
import type { Config } from '../common/config/config.js';
import { isBroken } from '../common/database/sql-error.js';
import { reachDatabase, type ReadyDatabase, readyDatabase } from '../common/database/ready-database.js';

type Named = Pick<ReadyDatabase, 'ownerUrl' | 'dataDir' | 'isServed'>;

/** The database of a command in one line, without its password. */
const nameOf = ({ ownerUrl, dataDir, isServed }: Named): string => {
  if (dataDir !== undefined)
    return `the embedded one in ${dataDir}${isServed ? ', of the running service' : ''}`;
  const { hostname, port, pathname } = new URL(ownerUrl);
  return `${pathname.slice(1)} on ${hostname}${port === '' ? '' : `:${port}`}`;
};

/** Names the database that a command works on, on standard error: it may differ from the one its user has in mind. */
const printDatabase = (database: Named): void => {
  process.stderr.write(`Database: ${nameOf(database)}.\n`);
};

/**
 * The database of the settings, prepared for the work of a command, and named. The embedded one is that of the running
 * service where one runs, and is started otherwise.
 */
export const commandDatabase = async (config: Config): Promise<ReadyDatabase> => {
  const database = await readyDatabase(config, { beside: true });
  printDatabase(database);
  return database;
};

/** The database of the settings as it stands, and named: neither prepared nor migrated; see `reachDatabase`. */
export const commandReach = async (config: Config): ReturnType<typeof reachDatabase> => {
  const database = await reachDatabase(config);
  printDatabase(database);
  return database;
};

/** Does work on a connection as the owner of the tables. @throws Error that says so when the connection breaks */
export const asOwner = async <T>(
  { ownerUrl }: Pick<ReadyDatabase, 'ownerUrl'>,
  work: (client: pg.Client) => Promise<T>,
): Promise<T> => {
  const client = new pg.Client({ connectionString: ownerUrl });
  client.on('error', () => undefined); // the query under way fails with it
  try {
    await client.connect();
    return await work(client);
  } catch (error) {
    if (!isBroken(error)) throw error;
    throw new Error(`The connection to the database broke: ${(error as Error).message}.`, { cause: error });
  } finally {
    await client.end();
  }
};
