import os from 'node:os';
import type { Command } from 'commander';
import { type Config, loadConfig } from '../common/config/config.js';
import { shippedFolders } from '../common/database/migrate.js';
import type { Service } from '../service.js';
import { collectGarbage } from './collect-garbage.js';
import { type AddCommand, notes, wholeNumber } from './command.js';

/** Upper limit on the time for stopping, whatever holds it up. [ms] */
const STOP_MS = 15_000;

/** npm and the terminal both pass Ctrl-C on: a signal that follows at once is the same one. [ms] */
const SAME_WISH_MS = 1000;

/** Resolves with the first signal that asks the process to end. A second signal ends it at once, as does the end of the time for stopping. */
export const untilStopSignal = (): Promise<NodeJS.Signals> =>
  new Promise((resolve) => {
    let askedAt: number | undefined;
    for (const signal of ['SIGINT', 'SIGTERM'] as const)
      process.on(signal, () => {
        const status = 128 + os.constants.signals[signal];
        if (askedAt === undefined) setTimeout(() => process.exit(status), STOP_MS).unref();
        else if (Date.now() - askedAt > SAME_WISH_MS) process.exit(status);
        askedAt ??= Date.now();
        resolve(signal);
      });
  });

/** The addresses of the service. The SQL address is that of a read-only login, and is printed only where nobody else can read it. */
export const addresses = ({ address, database, metrics, isLocal }: Service): string =>
  [
    `Page     ${address}/`,
    `REST     ${address}/v1/projects`,
    `GraphQL  ${address}/graphql`,
    `Docs     ${address}/docs`,
    ...(metrics ? [`Metrics  ${metrics}`] : []),
    ...(isLocal && database.readerUrl ? [`SQL      psql ${database.readerUrl}`] : []),
    ...(database.dataDir ? [`Data     ${database.dataDir}`] : []),
    ...(database.newer
      ? [
          `Views    Those of release ${database.newer}, installed by a newer build, which this older build leaves in place.`,
        ]
      : []),
    ...(isLocal
      ? [
          'Runs without login (AUTH=local), and is reached from this machine only. To act as several people: drivebook person --help',
        ]
      : []),
  ].join('\n');

/** Starts the service. It takes seconds to load, so a line is printed first. */
export const started = async (config: Config): Promise<Service> => {
  tellProgress(`Starting Drivebook ${shippedFolders.version}`);
  const { startService } = await import('../service.js');
  return startService(config, tellProgress);
};

const serve = async (config: Config): Promise<number> => {
  const stopping = untilStopSignal();
  const service = await started(config);
  collectGarbage();
  process.stdout.write(`${addresses(service)}\nCtrl-C stops it.\n`);
  const reason = await Promise.race([stopping, service.database.lost ?? stopping]);
  if (reason instanceof Error) process.stderr.write(`${reason.message}\n`);
  await service.stop();
  process.stdout.write('Stopped.\n');
  return reason instanceof Error ? 1 : 0;
};

/** Prints each step of a start as it begins: the first start on a machine takes a while. */
export const tellProgress = (step: string): void => {
  process.stdout.write(`${step} …\n`);
};

/** The settings of the environment, with the port from the command line. */
export const configWithPort = (port: number | undefined): Config =>
  loadConfig(port === undefined ? process.env : { ...process.env, PORT: String(port) });

const MAX_PORT = 65_535;

/** Option --port, in place of PORT. */
export const withPort = (command: Command): Command =>
  command.option(
    '--port <n>',
    'port to listen on instead of PORT; 0: any free one',
    wholeNumber(0, MAX_PORT),
  );

const NOTES = `Examples:
  drivebook serve
  DATABASE_URL=postgresql://drivebook@db.example/drivebook AUTH=required drivebook serve --port 8080

The settings are environment variables, listed in docs/guide/settings.md.`;

/** `drivebook serve`: runs until Ctrl-C or SIGTERM, or until its database is lost. */
export const addServe: AddCommand = (program, finish) => {
  const command = program
    .command('serve')
    .summary('start the service')
    .description(
      'Starts the service, on the database of DATABASE_URL or the embedded PostgreSQL of DATA_DIR, and prints its addresses. It runs until Ctrl-C or SIGTERM, or until its database is lost.',
    );
  withPort(command).action(async ({ port }: { port?: number }) => finish(await serve(configWithPort(port))));
  notes(command, NOTES);
};
