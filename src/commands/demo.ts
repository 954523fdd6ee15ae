import path from 'node:path';
import type { Config } from '../common/config/config.js';
import { DRIVE_PATH, PROJECT_PATH, shiftPath } from '../demo/addresses.js';
import { Answers } from '../demo/answers.js';
import { DemoClient } from '../demo/client.js';
import { LATE } from '../demo/events.js';
import { type DemoIssuer, startIssuer } from '../demo/issuer.js';
import { load } from '../demo/load.js';
import { refuseRealRecord } from '../demo/real-record.js';
import { scenario } from '../demo/scenario.js';
import { PROJECT } from '../demo/site.js';
import type { Service } from '../service.js';
import { type AddCommand, notes } from './command.js';
import { addresses, configWithPort, started, untilStopSignal, withPort } from './serve.js';

const INVENTED = `The drive is invented: ${PROJECT.input.name}, project ${PROJECT.code}. No real site, machine or person stands behind it.
What it says about support and probing is decision support: the project's designer and the local code decide.
Times are local (${PROJECT.input.timeZone}); figures are shown as the service gives them.
`;

const NEEDS_LOCAL =
  'The demo runs for one person on this machine, and its invented people sign with its own tokens: leave AUTH unset.';

const write = (text: string): boolean => process.stdout.write(`${text}\n`);

const more = ({ database }: Service, client: DemoClient): string =>
  [
    'MORE',
    `  the drive, in a browser    ${client.url('/')}`,
    `  a shift, whole             ${client.url(shiftPath(LATE))}`,
    `  quantities by class        ${client.url(`${DRIVE_PATH}/support-quantities/ground-classes`)}`,
    `  quantities by 10 m         ${client.url(`${DRIVE_PATH}/support-quantities/intervals`)}`,
    `  length, area, mass, volume ${client.url(`${DRIVE_PATH}/support-measures`)}`,
    `  strokes                    ${client.url(`${DRIVE_PATH}/strokes`)}`,
    `  alerts                     ${client.url(`${PROJECT_PATH}/alerts`)}`,
    ...(database.readerUrl
      ? [`  by SQL                     psql ${database.readerUrl} -c 'select * from report.day_advance'`]
      : []),
  ].join('\n');

const show = async (service: Service, issuer: DemoIssuer, signal: AbortSignal): Promise<void> => {
  write(`${INVENTED}\n${addresses(service)}\n`);
  const client = new DemoClient(service.address, signal);
  await load(client, issuer, scenario(), write);
  issuer.stop(); // nothing is signed after that
  write(`\n${await new Answers(client).all()}\n\n${more(service, client)}`);
};

/** @returns the exit status */
const run = async (
  config: Config,
  issuer: DemoIssuer,
  once: boolean,
  stopping: Promise<NodeJS.Signals>,
): Promise<number> => {
  const service = await started({
    ...config,
    oidc: issuer.oidc,
    logLevel: config.logLevel === 'info' ? 'warn' : config.logLevel, // one line per request would drown the answers
    dataDir: path.join(config.dataDir, 'demo'),
    rateLimitPerMinute: 0, // it loads the drive through its own API, as fast as it can
  });
  const showing = new AbortController();
  let asked: NodeJS.Signals | undefined;
  try {
    // If asked to stop while loading, it stops; the next start continues from there.
    asked = await Promise.race([show(service, issuer, showing.signal).then(() => undefined), stopping]);
    if (!once && !asked) {
      write('\nCtrl-C stops it; the drive stays for the next start.');
      await stopping;
    }
  } finally {
    showing.abort();
    await service.stop();
  }
  if (!once) write('Stopped.');
  return once && asked ? 1 : 0;
};

interface Options {
  once?: boolean;
  port?: number;
}

const demo = async ({ once = false, port }: Options): Promise<number> => {
  const config = configWithPort(port);
  if (config.auth !== 'local') throw new Error(NEEDS_LOCAL);
  if (config.databaseUrl) await refuseRealRecord(config.databaseOwnerUrl ?? config.databaseUrl);
  const stopping = untilStopSignal();
  const issuer = await startIssuer();
  try {
    return await run(config, issuer, once, stopping);
  } finally {
    issuer.stop();
  }
};

const NOTES = `Examples:
  drivebook demo
  drivebook demo --once
  drivebook demo --port 3001`;

/** `drivebook demo`: the service with an invented drive, loaded by its REST API. */
export const addDemo: AddCommand = (program, finish) => {
  const command = program
    .command('demo')
    .summary('start the service with an invented drive, and print its answers')
    .description(
      'Starts the service with an invented drive loaded and prints the answers of its record. Without DATABASE_URL it keeps its database in the folder "demo" of the data folder (DATA_DIR), separate from a real record.',
    )
    .option('--once', 'end after printing');
  withPort(command).action(async (options: Options) => finish(await demo(options)));
  notes(command, NOTES);
};
