import { Command, CommanderError } from 'commander';
import { shippedFolders } from '../common/database/migrate.js';
import type { AddCommand, Finish } from './command.js';

/** In the order of the help. A command's module is loaded only when it is needed: the service takes seconds to load. */
const COMMANDS: Record<string, () => Promise<AddCommand>> = {
  serve: async () => (await import('./serve.js')).addServe,
  demo: async () => (await import('./demo.js')).addDemo,
  import: async () => (await import('./import.js')).addImport,
  valuation: async () => (await import('./valuation.js')).addValuation,
  ags: async () => (await import('./ags.js')).addAgs,
  report: async () => (await import('./report.js')).addReport,
  audit: async () => (await import('./audit.js')).addAudit,
  attachments: async () => (await import('./attachments.js')).addAttachments,
  samples: async () => (await import('./samples.js')).addSamples,
  lake: async () => (await import('./lake.js')).addLake,
  backup: async () => (await import('./backup.js')).addBackup,
  restore: async () => (await import('./restore.js')).addRestore,
  handover: async () => (await import('./handover.js')).addHandover,
  administrator: async () => (await import('./administrator.js')).addAdministrator,
  person: async () => (await import('./person.js')).addPerson,
  bi: async () => (await import('./bi.js')).addBi,
  recompute: async () => (await import('./recompute.js')).addRecompute,
  views: async () => (await import('./views.js')).addViews,
  describe: async () => (await import('./describe.js')).addDescribe,
};

const EXAMPLES = `
Examples:
  drivebook demo
  drivebook serve --port 3001
  drivebook import strokes strokes.csv --project TRIAL --drive N --map map.json --dry-run
  drivebook valuation verify 1 --project TRIAL --drive N

The settings are environment variables, listed in docs/guide/settings.md.`;

/** The program with the commands of these names, all by default; none has run yet. */
export const program = async (finish: Finish, names = Object.keys(COMMANDS)): Promise<Command> => {
  const drivebook = new Command('drivebook')
    .description(
      'The book of record of a TBM drive: its service, and the commands that look after its database.',
    )
    .version(shippedFolders.version, '-V, --version', 'print the version')
    .helpOption('-h, --help', 'print this help')
    .helpCommand('help [command]', 'print the help of a command')
    .exitOverride() // `runCommand` returns the exit status
    .configureOutput({
      writeOut: (text) => process.stdout.write(text),
      writeErr: (text) => process.stderr.write(text),
    })
    .showHelpAfterError('Add --help for the usage.')
    .addHelpText('after', EXAMPLES)
    .addHelpText('afterAll', '\nExit status: 0 done, 1 failed or found something wrong, 2 wrong usage.');
  for (const add of await Promise.all(names.map((name) => COMMANDS[name]!()))) add(drivebook, finish);
  return drivebook;
};

/** Runs a command. @returns the exit status: 0 success, 1 failure, 2 wrong usage */
export const runCommand = async (args: string[]): Promise<number> => {
  let status = 0;
  const [name = ''] = args;
  const needed = Object.hasOwn(COMMANDS, name) ? [name] : ['-V', '--version'].includes(name) ? [] : undefined;
  const drivebook = await program((reported) => {
    status = reported;
  }, needed);
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
