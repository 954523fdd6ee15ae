import type { Config } from '../common/config/config.js';
import { type Service, startService } from '../service.js';

/** Resolves with the first signal that asks the process to end. */
export const untilAskedToStop = (): Promise<NodeJS.Signals> =>
  new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => resolve(signal));
  });

/** Where the service is reached. SQL is that of a login that only reads, and only where nobody else reads what is printed. */
export const addresses = ({ address, database, metrics, isLocal }: Service): string =>
  [
    `REST     ${address}/v1/projects`,
    `GraphQL  ${address}/graphql`,
    `Docs     ${address}/docs`,
    ...(metrics ? [`Metrics  ${metrics}`] : []),
    ...(isLocal && database.readerUrl ? [`SQL      psql ${database.readerUrl}`] : []),
    ...(database.dataDir ? [`Data     ${database.dataDir}`] : []),
    ...(database.newer
      ? [
          `Views    Those of release ${database.newer}, which a newer build put in: this build is older and leaves them.`,
        ]
      : []),
    ...(isLocal ? ['Nobody is asked who they are: AUTH=local, reached from this machine only.'] : []),
  ].join('\n');

/** `drivebook serve`: runs until Ctrl-C or SIGTERM. */
export const serve = async (config: Config): Promise<number> => {
  const stopping = untilAskedToStop();
  const service = await startService(config);
  process.stdout.write(`${addresses(service)}\nCtrl-C stops it.\n`);
  await stopping;
  await service.stop();
  process.stdout.write('Stopped.\n');
  return 0;
};
