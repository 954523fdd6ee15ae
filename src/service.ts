import path from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { createApp } from './app.js';
import type { Config } from './common/config/config.js';
import { apiKeyPepper } from './common/auth/api-keys.js';
import { Database } from './common/database/database.js';
import { startEmbeddedPostgres } from './common/database/embedded-postgres.js';
import { refuseSharedSessions } from './common/database/session.js';
import { refuseTakenPort } from './common/free-port.js';
import { migrate } from './common/database/migrate.js';
import { type MetricsServer, startMetrics } from './common/metrics/metrics.js';

export interface ReadyDatabase {
  url: string;
  /** The same as the owner of its tables. */
  ownerUrl: string;
  /** Folder of the embedded PostgreSQL; undefined when DATABASE_URL names the database. */
  dataDir?: string;
  stop(): Promise<void>;
}

/** The database of the settings, migrated: that of DATABASE_URL, or the embedded one. */
export const readyDatabase = async (config: Config): Promise<ReadyDatabase> => {
  const found = config.databaseUrl
    ? { url: config.databaseUrl, stop: () => Promise.resolve() }
    : await startEmbeddedPostgres({
        dataDir: config.dataDir,
        dataDirChosen: config.dataDirChosen,
        database: 'drivebook',
        persistent: true,
      });
  const database: ReadyDatabase = { ...found, ownerUrl: config.databaseOwnerUrl ?? found.url };
  try {
    if (config.databaseUrl) await refuseSharedSessions(config.databaseUrl, 'DATABASE_URL');
    if (config.databaseOwnerUrl) await refuseSharedSessions(config.databaseOwnerUrl, 'DATABASE_OWNER_URL');
    await migrate(database.ownerUrl);
  } catch (error) {
    await database.stop();
    throw error;
  }
  return database;
};

/** The folder of the bytes of attachments: as set, or in the data folder. An external database brings none: undefined. */
export const attachmentsDirOf = (
  { attachmentsDir }: Pick<Config, 'attachmentsDir'>,
  { dataDir }: Pick<ReadyDatabase, 'dataDir'>,
): string | undefined =>
  attachmentsDir ?? (dataDir === undefined ? undefined : path.join(dataDir, 'attachments'));

export interface Service {
  app: NestFastifyApplication;
  database: ReadyDatabase;
  /** Where it listens, such as http://127.0.0.1:3000 */
  address: string;
  /** Whether nobody is asked who they are. */
  isLocal: boolean;
  /** Where its metrics are read; undefined: nowhere. */
  metrics?: string;
  stop(): Promise<void>;
}

/** Starts database and service; a taken port is found out before either. stop() closes the service first, then the database. */
export const startService = async (config: Config): Promise<Service> => {
  await refuseTakenPort(config.port, config.host);
  if (config.metrics) await refuseTakenPort(config.metrics.port, config.metrics.host, 'METRICS_PORT');
  const database = await readyDatabase(config);
  let app: NestFastifyApplication | undefined;
  let metrics: MetricsServer | undefined;
  const stop = async (): Promise<void> => {
    await app?.close();
    await metrics?.stop();
    await database.stop();
  };
  try {
    const pepper = apiKeyPepper({ ...config, dataDir: database.dataDir ?? config.dataDir });
    app = await createApp({
      ...config,
      databaseUrl: database.url,
      apiKeyPepper: pepper,
      attachmentsDir: attachmentsDirOf(config, database),
    });
    if (config.metrics) metrics = await startMetrics(app.getHttpAdapter().getInstance(), config.metrics);
    await app.get(Database).prove();
    await app.listen(config.port, config.host);
    return {
      app,
      database,
      address: await app.getUrl(),
      metrics: metrics?.address,
      isLocal: config.auth === 'local',
      stop,
    };
  } catch (error) {
    await stop();
    throw error;
  }
};
