import { Logger } from '@nestjs/common';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { createApp } from './app.js';
import { openApiOf } from './common/api/openapi.js';
import type { Config } from './common/config/config.js';
import { apiKeyPepper } from './common/auth/api-keys.js';
import { Database } from './common/database/database.js';
import { attachmentsDirOf, type ReadyDatabase, readyDatabase } from './common/database/ready-database.js';
import { refusePortInUse } from './common/free-port.js';
import { otherTimeZones } from './common/database/time-zones.js';
import { type MetricsServer, startMetrics } from './common/metrics/metrics.js';

/** Total time for stopping; the part left after requests have ended is for the database. [ms] */
const STOP_MS = 13_000;

/** For a database that cannot shut down in the remaining time. [ms] */
const BY_FORCE_MS = 2000;

export interface Service {
  app: NestFastifyApplication;
  database: ReadyDatabase;
  /** The address on which it listens, such as http://127.0.0.1:3000 */
  address: string;
  /** Whether it runs without login. */
  isLocal: boolean;
  /** Address of its metrics; undefined: none. */
  metrics?: string;
  stop(): Promise<void>;
}

const NOT_CONFINED =
  'The login of DATABASE_URL may do more than the service: name a separate login there, and the owner in DATABASE_OWNER_URL (docs/operations/database-roles.md).';

/** Starts database and service, reporting each step as it begins; checks for a taken port before either. stop() closes the service first, then the database. */
export const startService = async (
  config: Config,
  say: (step: string) => void = () => undefined,
): Promise<Service> => {
  await refusePortInUse(config.port, config.host, 'PORT or --port');
  if (config.metrics) await refusePortInUse(config.metrics.port, config.metrics.host, 'METRICS_PORT');
  const database = await readyDatabase(config, { say });
  let app: NestFastifyApplication | undefined;
  let metrics: MetricsServer | undefined;
  const stop = async (): Promise<void> => {
    const end = Date.now() + STOP_MS;
    await app?.close();
    await metrics?.stop();
    await database.stop(Math.max(BY_FORCE_MS, end - BY_FORCE_MS - Date.now()));
  };
  try {
    const pepper = apiKeyPepper({ ...config, dataDir: database.dataDir ?? config.dataDir });
    say('Starting the service');
    app = await createApp({
      ...config,
      databaseUrl: database.url,
      apiKeyPepper: pepper,
      attachmentsDir: attachmentsDirOf(config, database),
    });
    if (config.auth === 'required' && !database.isConfined) new Logger('Database').warn(NOT_CONFINED);
    const otherZones = await otherTimeZones(database.ownerUrl);
    if (otherZones !== undefined) new Logger('Database').warn(otherZones);
    if (config.metrics) metrics = await startMetrics(app, config.metrics);
    await app.get(Database).prove();
    await app.init();
    openApiOf(app);
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
