import { Command, CommanderError } from 'commander';
import { shippedFolders } from '../common/database/migrate.js';
import { addAdministrator } from './administrator.js';
import { addAgs } from './ags.js';
import { addAttachments } from './attachments.js';
import { addAudit } from './audit.js';
import { addBackup } from './backup.js';
import { addBi } from './bi.js';
import type { AddCommand, Finish } from './command.js';
import { addDemo } from './demo.js';
import { addDescribe } from './describe.js';
import { addHandover } from './handover.js';
import { addImport } from './import.js';
import { addPerson } from './person.js';
import { addRecompute } from './recompute.js';
import { addReport } from './report.js';
import { addRestore } from './restore.js';
import { addSamples } from './samples.js';
import { addServe } from './serve.js';
import { addValuation } from './valuation.js';
import { addViews } from './views.js';

const COMMANDS: AddCommand[] = [
  addServe,
  addDemo,
  addImport,
  addValuation,
  addAgs,
  addReport,
  addAudit,
  addAttachments,
  addSamples,
  addBackup,
  addRestore,
  addHandover,
  addAdministrator,
  addPerson,
  addBi,
  addRecompute,
  addViews,
  addDescribe,
];

const EXAMPLES = `
Examples:
  drivebook demo
  drivebook serve --port 3001
  drivebook import strokes strokes.csv --project TRIAL --drive N --map map.json --dry-run
  drivebook valuation verify 1 --project TRIAL --drive N

The settings are environment variables, listed in docs/guide/settings.md.`;

/** The program with all its commands; none of them has run. */
export const program = (finish: Finish): Command => {
  const drivebook = new Command('drivebook')
    .description(
      'The book of record of a TBM drive: its service, and the commands that look after its database.',
    )
    .version(shippedFolders.version, '-V, --version', 'print the version')
    .helpOption('-h, --help', 'print this help')
    .helpCommand('help [command]', 'print the help of a command')
    .exitOverride() // the exit status is that of `runCommand`
    .configureOutput({
      writeOut: (text) => process.stdout.write(text),
      writeErr: (text) => process.stderr.write(text),
    })
    .showHelpAfterError('Add --help for the usage.')
    .addHelpText('after', EXAMPLES)
    .addHelpText('afterAll', '\nExit status: 0 done, 1 failed or found something wrong, 2 not understood.');
  for (const add of COMMANDS) add(drivebook, finish);
  return drivebook;
};

/** Runs a command. @returns the exit status: 0 done, 1 failed, 2 not understood */
export const runCommand = async (args: string[]): Promise<number> => {
  let status = 0;
  const drivebook = program((reported) => {
    status = reported;
  });
  try {
    if (args.length === 0) drivebook.help();
    await drivebook.parseAsync(args, { from: 'user' });
    return status;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
    return 1;
  }
};
