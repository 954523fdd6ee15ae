import { parseArgs } from 'node:util';

/**
 * A command of the command line.
 * @param usage       printed when it is asked for, and below what was not understood
 * @param understood  what was asked for; undefined: to read the usage. @throws Error naming what is not understood
 * @param work        does it and gives the exit status: 0 done, 1 not
 * @returns the command; its exit status is 2 when it is not understood
 */
export const command =
  <Request>(
    usage: string,
    understood: (args: string[]) => Request | undefined,
    work: (request: Request) => Promise<number>,
  ) =>
  async (args: string[]): Promise<number> => {
    let request: Request | undefined;
    try {
      request = understood(args);
    } catch (error) {
      process.stderr.write(`${(error as Error).message}\n\n${usage}`);
      return 2;
    }
    if (request !== undefined) return work(request);
    process.stdout.write(usage);
    return 0;
  };

/** A command that takes no argument but --help. @param work  does it and gives the exit status */
export const plainCommand = (usage: string, work: () => Promise<number>) =>
  command(
    usage,
    (args): true | undefined => {
      const { values, positionals } = parseArgs({
        args,
        options: { help: { type: 'boolean', short: 'h' } },
        allowPositionals: true,
      });
      if (values.help) return undefined;
      if (positionals.length > 0) throw new Error(`Unexpected argument "${positionals.join(' ')}".`);
      return true;
    },
    work,
  );
