import path from 'node:path';
import type { Config } from '../config/config.js';
import {
  type EmbeddedOptions,
  type EmbeddedPostgres,
  hasEmbeddedPostgres,
  orDiskFull,
  runningEmbeddedPostgres,
  startEmbeddedPostgres,
} from './embedded-postgres.js';
import { migrate, refuseUnmigrated } from './migrate.js';
import { byLogin, loginOf, prepareRoles, type RolesWanted } from './roles.js';
import { refuseSharedSessions } from './session.js';

export interface ReadyDatabase {
  /** For the service. */
  url: string;
  /** For the owner of its tables: migrations and commands. */
  ownerUrl: string;
  /** For read-only access; undefined when DATABASE_URL names the database. */
  readerUrl?: string;
  /** Whether the login of `url` gains nothing by leaving the service's role. */
  isConfined: boolean;
  /** Folder of the embedded PostgreSQL; undefined when DATABASE_URL names the database. */
  dataDir?: string;
  /** Whether it is the embedded database of a running service: prepared by that service, and not stopped by stop(). */
  isServed: boolean;
  /** The release to which a newer build has brought it; this build works with its views. */
  newer?: string;
  /** For the embedded PostgreSQL: resolves when it has ended and could not be started again. */
  lost?: Promise<Error>;
  /** @param fastMs  time for the embedded PostgreSQL to write its memory out */
  stop(fastMs?: number): Promise<void>;
}

type Found = Omit<ReadyDatabase, 'isConfined' | 'newer'> & { roles: RolesWanted };

const external = (url: string, ownerUrl = url): Found => {
  const service = loginOf(url);
  const isOwner = service.name === loginOf(ownerUrl).name;
  return { url, ownerUrl, isServed: false, roles: isOwner ? {} : { service }, stop: () => Promise.resolve() };
};

const embeddedOf = ({ dataDir, dataDirChosen }: Config): EmbeddedOptions => ({
  dataDir,
  dataDirChosen,
  database: 'drivebook',
  persistent: true,
});

const embedded = ({ url, logins, ...server }: EmbeddedPostgres, isServed = false): Found => ({
  ...server,
  isServed,
  url: byLogin(url, logins.service),
  ownerUrl: url,
  readerUrl: byLogin(url, logins.reader),
  roles: { ours: logins },
});

/** Whether there is a database: one that DATABASE_URL names is taken to exist. */
export const isDatabaseThere = (config: Config): boolean =>
  config.databaseUrl !== undefined || hasEmbeddedPostgres(embeddedOf(config));

/**
 * The configured database as it is, neither prepared nor migrated, for commands that work as its owner. The embedded one is that
 * of the running service if there is one; otherwise it is started.
 */
export const reachDatabase = async (config: Config): Promise<Found> => {
  const { databaseUrl, databaseOwnerUrl } = config;
  if (databaseUrl) {
    const found = external(databaseUrl, databaseOwnerUrl);
    await refuseSharedSessions(found.ownerUrl, databaseOwnerUrl ? 'DATABASE_OWNER_URL' : 'DATABASE_URL');
    return found;
  }
  return servedDatabase(config) ?? embedded(await startEmbeddedPostgres(embeddedOf(config)));
};

/** The embedded database of a running service; undefined: no service is running. */
const servedDatabase = (config: Config): Found | undefined => {
  const running = config.databaseUrl ? undefined : runningEmbeddedPostgres(embeddedOf(config));
  return running && embedded(running, true);
};

/**
 * The configured database, with its roles and migrated: that of DATABASE_URL, or the embedded one.
 * @param beside  whether to work beside a running service on its embedded database, which is left as that service prepared it
 */
export const readyDatabase = async (
  config: Config,
  { beside = false, say = (_step: string): void => undefined } = {},
): Promise<ReadyDatabase> => {
  const served = beside ? servedDatabase(config) : undefined;
  if (served) {
    await refuseUnmigrated(served.ownerUrl);
    return { ...served, isConfined: true };
  }
  say(config.databaseUrl ? 'Reaching the database' : `Starting PostgreSQL in ${config.dataDir}`);
  const { roles, ...found } = config.databaseUrl
    ? external(config.databaseUrl, config.databaseOwnerUrl)
    : embedded(await startEmbeddedPostgres(embeddedOf(config)));
  try {
    if (config.databaseOwnerUrl) await refuseSharedSessions(config.databaseOwnerUrl, 'DATABASE_OWNER_URL');
    const isConfined = await prepareRoles(found.ownerUrl, roles);
    if (config.databaseUrl) await refuseSharedSessions(config.databaseUrl, 'DATABASE_URL');
    say('Checking the tables and views');
    const { newer } = await migrate(found.ownerUrl);
    return { ...found, isConfined, newer };
  } catch (error) {
    const reason = found.dataDir === undefined ? error : orDiskFull(error, found.dataDir);
    await found.stop();
    throw reason;
  }
};

/** The folder for the bytes of attachments: as configured, or in the data folder. undefined for an external database without the setting. */
export const attachmentsDirOf = (
  { attachmentsDir }: Pick<Config, 'attachmentsDir'>,
  { dataDir }: Pick<ReadyDatabase, 'dataDir'>,
): string | undefined =>
  attachmentsDir ?? (dataDir === undefined ? undefined : path.join(dataDir, 'attachments'));
