import { loadConfig } from '../common/config/config.js';
import { administrator } from './administrator.js';
import { attachments } from './attachments.js';
import { audit } from './audit.js';
import { backup } from './backup.js';
import { plainCommand } from './command.js';
import { demo } from './demo.js';
import { describe } from './describe.js';
import { importFile } from './import.js';
import { recompute } from './recompute.js';
import { restore } from './restore.js';
import { samples } from './samples.js';
import { serve } from './serve.js';
import { valuation } from './valuation.js';
import { views } from './views.js';

const USAGE = `drivebook <command>

  serve                    start the service, on DATABASE_URL or the embedded PostgreSQL
  demo                     the same with an invented drive loaded, and its answers printed
  import strokes FILE      read a stroke table; see drivebook import strokes --help
  import samples FILE      read a logger's file; see drivebook import samples --help
  attachments verify       check the files of the attachments; see drivebook attachments --help
  audit verify             check the history of the record; see drivebook audit --help
  valuation verify         measure a certified valuation again; see drivebook valuation --help
  administrator            who makes projects; see drivebook administrator --help
  backup FILE              write the whole database to a file; see drivebook backup --help
  restore FILE             read it into a new database; see drivebook restore --help
  samples months           retire old months of machine samples; see drivebook samples --help
  recompute                compute the values stored with the record anew; see drivebook recompute --help
  views replace            put this build's views in after a downgrade; see drivebook views --help
  describe [--check]       write what of docs/ is generated from the code, or compare it
`;

const SERVE = `drivebook serve

  Starts the service, on the database of DATABASE_URL or the embedded PostgreSQL of DATA_DIR, and prints where it is
  reached. It runs until Ctrl-C or SIGTERM, or until its database is lost. The settings are listed in README.md.

Exit status: 0 stopped when asked to, 1 failed, 2 not understood.
`;

const RECOMPUTE = `drivebook recompute

  Computes anew the values that are stored with the record, of all projects: those of borings, ground logs,
  discontinuities and overbreak. Readings are not changed. Run it after an upgrade whose notes ask for it.

It works on the database of DATABASE_URL, or on the embedded one of DATA_DIR while the service does not run.

Exit status: 0 done, 1 failed, 2 not understood.
`;

type Command = (args: string[]) => Promise<number>;

/** By name. Each prints its usage for --help, and does nothing else then. */
export const COMMANDS: Record<string, Command> = {
  serve: plainCommand(SERVE, () => serve(loadConfig())),
  demo,
  import: importFile,
  attachments,
  audit,
  backup,
  restore,
  samples,
  valuation,
  views,
  administrator,
  recompute: plainCommand(RECOMPUTE, () => recompute(loadConfig())),
  describe,
};

/** Runs a command. @returns the exit status: 0 done, 1 failed, 2 not understood */
export const runCommand = async ([name = '', ...args]: string[]): Promise<number> => {
  const command = Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined;
  if (!command) {
    const asked = name === '' || ['help', '--help', '-h'].includes(name);
    (asked ? process.stdout : process.stderr).write(asked ? USAGE : `Unknown command "${name}".\n\n${USAGE}`);
    return asked ? 0 : 2;
  }
  try {
    return await command(args);
  } catch (error) {
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
    return 1;
  }
};
