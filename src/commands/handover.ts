import { Workers } from '../common/work/workers.js';
import { loadConfig } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { shippedFolders } from '../common/database/migrate.js';
import { ProblemError } from '../common/api/problem.js';
import { type HandoverResult, writeHandover } from '../features/outputs/handover/write-handover.js';
import { attachmentsDirOf } from '../common/database/ready-database.js';
import {
  type AddCommand,
  folderThatExists,
  notes,
  ON_DATABASE,
  print,
  toBeWritten,
  withJson,
} from './command.js';
import { commandDatabase } from './command-database.js';
import { commandScope } from './command-scope.js';

interface Options {
  project: string;
  drive?: string;
  lake?: string;
  json?: boolean;
}

const MB = 1_000_000;

const inWords = (
  target: string,
  { project, drive, madeAt, files, bytes, manifest, head, missingSamples }: HandoverResult,
): string =>
  [
    `${target}: project ${project}${drive === undefined ? '' : `, drive ${drive}`}, as of ${madeAt}, ${files} files, ${(bytes / MB).toFixed(1)} MB.`,
    ...(missingSamples.length > 0
      ? [
          `Without the machine samples of ${missingSamples.join(', ')}, which were taken out of the record: --lake names the lake that has them.`,
        ]
      : []),
    `Note elsewhere: manifest ${manifest}, head of the history ${head.number} ${head.hash}.`,
    '',
  ].join('\n');

/** Progress on one line, on a terminal only. */
const tell = (percent: number, step: string): void => {
  if (process.stderr.isTTY)
    process.stderr.write(`\r${`${percent} %  ${step}`.padEnd(30)}${percent === 100 ? '\n' : ''}`);
};

const write = async (target: string, { project, drive, lake, json }: Options): Promise<number> => {
  const config = loadConfig();
  const ready = await commandDatabase(config);
  const database = new Database(ready.url, 1);
  const workers = new Workers();
  const stop = new AbortController();
  const interrupt = (): void => stop.abort(new Error('Interrupted: nothing was written.'));
  for (const name of ['SIGINT', 'SIGTERM'] as const) process.once(name, interrupt);
  try {
    const result = await writeHandover({
      ...{ url: ready.url, target, drive, lake, workers, progress: tell, signal: stop.signal },
      scope: await commandScope(database, project),
      attachmentsDir: attachmentsDirOf(config, ready),
      version: shippedFolders.version,
    });
    print({ target, ...result }, json, () => inWords(target, result));
    return 0;
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    process.stderr.write(`${error.message}\n`);
    return 1;
  } finally {
    for (const name of ['SIGINT', 'SIGTERM'] as const) process.removeListener(name, interrupt);
    await workers.close();
    await database.close();
    await ready.stop();
  }
};

const NOTES = `Examples:
  drivebook handover trial-2029.zip --project TRIAL
  drivebook handover /archive/trial-2029 --project TRIAL

In the folder, or in the unpacked archive, "node verify.mjs" checks all of it without the service.
"drivebook restore" reads the package of a project into a new, empty service.
${ON_DATABASE}`;

/** `drivebook handover`: exports the record of a project for use without the service. */
export const addHandover: AddCommand = (program, finish) => {
  const command = program
    .command('handover')
    .summary('write the whole record of a project as a package')
    .description(
      'Writes the record of a project, in one state, to a new folder or .zip file that can be read for decades without the service: tables with a dictionary, every shift with its versions, papers, attachments, the history as a chain, and a script that checks it. The package of a project can be read into a new service. It contains no secrets; only its owner can read it. It gets its name only when it is complete.',
    )
    .argument('<target>', 'a folder to create, or a file that ends with .zip', toBeWritten('<target>'))
    .requiredOption('--project <code>', 'code of the project')
    .option('--drive <code>', 'this drive only; such a package cannot be read into a service')
    .option(
      '--lake <folder>',
      'lake that has the machine samples of months that were taken out of the record',
      folderThatExists,
    );
  withJson(command).action(async (target: string, options: Options) => finish(await write(target, options)));
  notes(command, NOTES);
};
