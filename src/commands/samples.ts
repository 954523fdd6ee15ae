import { parseArgs } from 'node:util';
import pg from 'pg';
import { loadConfig } from '../common/config/config.js';
import {
  archiveMonth,
  attachMonth,
  detachMonth,
  dropMonth,
  type SampleMonth,
  sampleMonths,
} from '../features/samples/sample-months.js';
import { reachDatabase } from '../service.js';
import { command } from './command.js';
import { commandActor } from './command-scope.js';

const USAGE = `drivebook samples months
drivebook samples detach MONTH
drivebook samples attach MONTH
drivebook samples archive MONTH FILE
drivebook samples drop MONTH --archive FILE

The raw machine samples of a month (UTC, such as 2027-03), of all projects and drives, while the service runs or not:

  months    lists them with rows and size
  detach    takes a month out of the record: readings no longer find its samples and say so, and more are refused
  attach    puts a detached month back
  archive   writes a detached month to a CSV file, with its rows and SHA-256 in FILE.json
  drop      removes the table of a month, once its archive is shown and is the one that was written

What was computed from samples and accepted stays in the record. It works on the database of DATABASE_URL as the owner of
the tables (DATABASE_OWNER_URL), or on the embedded one of DATA_DIR.

Exit status: 0 done, 1 failed, 2 not understood.
`;

const OPTIONS = {
  archive: { type: 'string' },
  help: { type: 'boolean', short: 'h' },
} as const;

type Work = (client: pg.Client) => Promise<string>;

const MB = 1024 * 1024;

const line = ({ month, state, rows, bytes, detachedAt }: SampleMonth): string =>
  `${month.slice(0, 7)}  ${state}  ${rows} rows  ${(Number(bytes) / MB).toFixed(1)} MB${detachedAt === null ? '' : `  detached ${detachedAt}`}`;

const months: Work = async (client) => {
  const lines = (await sampleMonths(client)).map(line);
  return lines.length > 0 ? lines.join('\n') : 'There are no machine samples.';
};

const makers: Record<string, (month: string, file: string) => Work> = {
  detach: (month) => async (client) => {
    await detachMonth(client, month, commandActor());
    return `The samples of ${month.slice(0, 7)} are detached.`;
  },
  attach: (month) => async (client) => {
    await attachMonth(client, month);
    return `The samples of ${month.slice(0, 7)} are in the record again.`;
  },
  archive: (month, file) => async (client) => {
    const { rows, sha256 } = await archiveMonth(client, month, file);
    return `${file}: ${rows} samples of ${month.slice(0, 7)}, SHA-256 ${sha256}.`;
  },
  drop: (month, file) => async (client) => {
    await dropMonth(client, month, file);
    return `The samples of ${month.slice(0, 7)} are dropped; ${file} has them.`;
  },
};

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): Work | undefined => {
  const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  if (values.help) return undefined;
  const [action = '', month, ...more] = positionals;
  if (action === 'months' && month === undefined) return months;
  const make = Object.hasOwn(makers, action) ? makers[action] : undefined;
  if (!make)
    throw new Error(
      `drivebook samples takes months, detach, attach, archive or drop, not "${positionals.join(' ')}".`,
    );
  if (month === undefined || !/^2\d{3}-(0[1-9]|1[0-2])$/.test(month))
    throw new Error(`MONTH must be a month such as 2027-03, not "${month ?? ''}".`);
  const file = action === 'archive' ? more.shift() : values.archive;
  if (more.length > 0) throw new Error(`Unexpected argument "${more.join(' ')}".`);
  if (values.archive !== undefined && action !== 'drop') throw new Error('--archive is for drop.');
  if (file === undefined && action === 'archive') throw new Error('Missing argument: the file to write.');
  if (file === undefined && action === 'drop')
    throw new Error('Missing option: --archive FILE, written by archive.');
  return make(`${month}-01`, file ?? '');
};

const done = async (work: Work): Promise<number> => {
  const database = await reachDatabase(loadConfig());
  const client = new pg.Client({ connectionString: database.ownerUrl });
  client.on('error', () => undefined); // the query under way fails with it
  try {
    await client.connect();
    process.stdout.write(`${await work(client)}\n`);
    return 0;
  } finally {
    await client.end();
    await database.stop();
  }
};

/** `drivebook samples`: takes old months of machine samples out of the record. */
export const samples = command(USAGE, understood, done);
