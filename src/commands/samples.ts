import type { Command } from 'commander';
import type pg from 'pg';
import { loadConfig } from '../common/config/config.js';
import {
  archiveMonth,
  attachMonth,
  detachMonth,
  dropMonth,
  monthsInDatabase,
  moveMonth,
  type SampleMonth,
  sampleMonths,
  tableOf,
} from '../features/driving/samples/sample-months.js';
import { samplesInLake } from '../features/outputs/lake/samples-in-lake.js';
import {
  type AddCommand,
  checked,
  folderThatExists,
  notes,
  ON_DATABASE,
  print,
  toBeWritten,
  withJson,
} from './command.js';
import { asOwner, commandReach } from './command-database.js';
import { commandActor } from './command-scope.js';

type Work = (client: pg.Client) => Promise<{ result: object; words: string }>;

const MB = 1024 * 1024;

const line = ({ month, state, rows, bytes, detachedAt }: SampleMonth): string =>
  `${month.slice(0, 7)}  ${state}  ${rows} rows  ${(Number(bytes) / MB).toFixed(1)} MB${detachedAt === null ? '' : `  detached ${detachedAt}`}`;

const months: Work = async (client) => {
  const found = await sampleMonths(client);
  const lines = found.map(line);
  return { result: found, words: lines.length > 0 ? lines.join('\n') : 'There are no machine samples.' };
};

const detach =
  (month: string): Work =>
  async (client) => {
    await detachMonth(client, `${month}-01`, commandActor());
    return { result: { month }, words: `The samples of ${month} are detached.` };
  };

const attach =
  (month: string): Work =>
  async (client) => {
    await attachMonth(client, `${month}-01`);
    return { result: { month }, words: `The samples of ${month} are in the record again.` };
  };

const archive =
  (month: string, file: string): Work =>
  async (client) => {
    const { rows, sha256 } = await archiveMonth(client, `${month}-01`, file);
    return {
      result: { month, file, rows, sha256 },
      words: `${file}: ${rows} samples of ${month}, SHA-256 ${sha256}.`,
    };
  };

const drop =
  (month: string, file: string): Work =>
  async (client) => {
    await dropMonth(client, `${month}-01`, file);
    return {
      result: { month, file },
      words: `The samples of ${month} are dropped; they are kept in ${file}.`,
    };
  };

/** The first day of the month a number of whole months before now, in UTC. */
const monthsAgo = (count: number): string => {
  const now = new Date();
  return new Date(Date.UTC(now.getUTCFullYear(), now.getUTCMonth() - count, 1)).toISOString().slice(0, 10);
};

/** Moves the months one after the other, oldest first: if one fails, those before it have been moved. */
const move =
  (lake: string, kept: number): Work =>
  async (client) => {
    const end = monthsAgo(kept);
    const moved: { month: string; rows: number; sha256: string }[] = [];
    for (const day of await monthsInDatabase(client)) {
      if (day >= end) break;
      const month = day.slice(0, 7);
      const copy = await samplesInLake(client, lake, month, tableOf(day));
      await moveMonth(client, day, commandActor(), copy);
      moved.push({ month, ...copy });
    }
    const lines = moved.map(({ month, rows }) => `${month}: ${rows} samples are in the lake alone now.`);
    return {
      result: { lake, moved },
      words:
        lines.length > 0 ? lines.join('\n') : `There are no samples from before ${end}: nothing was moved.`,
    };
  };

const done = async (work: Work, { json }: { json?: boolean }): Promise<number> => {
  const database = await commandReach(loadConfig());
  try {
    const { result, words } = await asOwner(database, work);
    print(result, json, () => words);
    return 0;
  } finally {
    await database.stop();
  }
};

const monthArgument = checked((text) =>
  /^2\d{3}-(0[1-9]|1[0-2])$/.test(text) ? undefined : 'must be a month such as 2027-03',
);

const KEPT = /^([1-9]|[1-9]\d|1[01]\d|120)$/;

const keptArgument = checked((text) =>
  KEPT.test(text) ? undefined : 'must be a number of months from 1 to 120',
);

const NOTES = `Examples:
  drivebook samples months
  drivebook samples detach 2027-03
  drivebook samples attach 2027-03
  drivebook samples archive 2027-03 samples-2027-03.csv
  drivebook samples drop 2027-03 --archive samples-2027-03.csv
  drivebook samples move /srv/lake --keep 24

What was computed from samples and accepted stays in the record.
${ON_DATABASE}`;

/** `drivebook samples`: retires old months of machine samples. */
export const addSamples: AddCommand = (program, finish) => {
  const command = program
    .command('samples')
    .summary('retire old months of machine samples')
    .description('Retires the raw machine samples of a month (UTC), of all projects and drives.');
  notes(command, NOTES);
  type Json = { json?: boolean };
  const add = (name: string, summary: string, description = summary): Command =>
    withJson(notes(command.command(name).summary(summary).description(description), NOTES));
  const ofMonth = (each: Command): Command => each.argument('<month>', 'such as 2027-03', monthArgument);
  add('months', 'list the months with rows and size').action(async (options: Json) =>
    finish(await done(months, options)),
  );
  ofMonth(
    add(
      'detach',
      'take a month out of the record',
      'Takes a month out of the record: readings no longer find its samples and say so, and new ones are refused.',
    ),
  ).action(async (month: string, options: Json) => finish(await done(detach(month), options)));
  ofMonth(add('attach', 'put a detached month back')).action(async (month: string, options: Json) =>
    finish(await done(attach(month), options)),
  );
  ofMonth(
    add(
      'archive',
      'write a detached month to a CSV file',
      'Writes a detached month to a CSV file, and its rows and SHA-256 to FILE.json.',
    ),
  )
    .argument('<file>', 'the file to write', toBeWritten('<file>'))
    .action(async (month: string, file: string, options: Json) =>
      finish(await done(archive(month, file), options)),
    );
  ofMonth(add('drop', 'remove the table of an archived month'))
    .requiredOption('--archive <file>', 'the archive, as archive wrote it')
    .action(async (month: string, options: Json & { archive: string }) =>
      finish(await done(drop(month, options.archive), options)),
    );
  add(
    'move',
    'drop old months that are in the lake',
    'Drops old months whose samples are all in the lake: the Parquet file of each drive is written again and compared byte by byte.',
  )
    .argument('<lake>', 'folder of the lake, exported before', folderThatExists)
    .requiredOption(
      '--keep <months>',
      'how many months before the current one to keep, from 1 to 120',
      keptArgument,
    )
    .action(async (lake: string, options: Json & { keep: string }) =>
      finish(await done(move(lake, Number(options.keep)), options)),
    );
};
