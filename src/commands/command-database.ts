import pg from 'pg';
import type { Config } from '../common/config/config.js';
import { isBroken } from '../common/database/sql-error.js';
import {
  isDatabaseThere,
  reachDatabase,
  type ReadyDatabase,
  readyDatabase,
} from '../common/database/ready-database.js';

type Named = Pick<ReadyDatabase, 'ownerUrl' | 'dataDir' | 'isServed'>;

/** The database of a command in one line, without its password. */
const nameOf = ({ ownerUrl, dataDir, isServed }: Named): string => {
  if (dataDir !== undefined)
    return `the embedded one in ${dataDir}${isServed ? ', of the running service' : ''}`;
  const { hostname, port, pathname } = new URL(ownerUrl);
  return `${pathname.slice(1)} on ${hostname}${port === '' ? '' : `:${port}`}`;
};

/** Prints to standard error which database a command works on: it may not be the one that the user has in mind. */
const printDatabase = (database: Named): void => {
  process.stderr.write(`Database: ${nameOf(database)}.\n`);
};

interface Creating {
  /** Whether the command may create the embedded database: a first administrator is added, or a backup restored, before the service has run. */
  creates?: boolean;
}

/** A command on a mistyped data folder would otherwise create an empty database there. */
const refuseNew = (config: Config, { creates = false }: Creating): void => {
  if (creates || isDatabaseThere(config)) return;
  throw new Error(
    `There is no database in the data folder ${config.dataDir}: name the folder by DATA_DIR or the database by DATABASE_URL, or start the service first.`,
  );
};

/**
 * The configured database, prepared for a command, after printing its name. The embedded one is that of the running service if
 * there is one; otherwise it is started.
 * @throws Error when there is none, unless the command may create it
 */
export const commandDatabase = async (config: Config, creating: Creating = {}): Promise<ReadyDatabase> => {
  refuseNew(config, creating);
  const database = await readyDatabase(config, { beside: true });
  printDatabase(database);
  return database;
};

/**
 * The configured database as it is, neither prepared nor migrated, after printing its name; see `reachDatabase`.
 * @throws Error when there is none, unless the command may create it
 */
export const commandReach = async (
  config: Config,
  creating: Creating = {},
): ReturnType<typeof reachDatabase> => {
  refuseNew(config, creating);
  const database = await reachDatabase(config);
  printDatabase(database);
  return database;
};

/** Runs work on a connection as the owner of the tables. @throws Error that says so when the connection breaks */
export const asOwner = async <T>(
  { ownerUrl }: Pick<ReadyDatabase, 'ownerUrl'>,
  work: (client: pg.Client) => Promise<T>,
): Promise<T> => {
  const client = new pg.Client({ connectionString: ownerUrl });
  client.on('error', () => undefined); // the query in progress reports the failure
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
