import { accessSync, constants, existsSync, statSync } from 'node:fs';
import path from 'node:path';
import { type Command, InvalidArgumentError } from 'commander';
import { assertNew } from '../common/files/disk.js';

/** Adds a command, with its help, to the program. Its work passes an exit status to `finish`. */
export type AddCommand = (program: Command, finish: Finish) => void;

/** Takes the exit status of a command: 0 success, 1 failure or findings. */
export type Finish = (status: number) => void;

/** Adds text below the options in a command's help. */
export const notes = (command: Command, text: string): Command => command.addHelpText('after', `\n${text}`);

/** Help text about the database, for most commands. */
export const ON_DATABASE = `The database is that of DATABASE_URL, as its owner (DATABASE_OWNER_URL), or the embedded one of DATA_DIR,
whether the service runs or not.`;

/** Options --project and --drive, both required. */
export const onDrive = (command: Command): Command =>
  command
    .requiredOption('--project <code>', 'code of the project')
    .requiredOption('--drive <code>', 'code of the drive');

/** Option --json: the result as one line of JSON instead of sentences. */
export const withJson = (command: Command): Command =>
  command.option('--json', 'print the result as one line of JSON');

/** Prints the result of a command: as JSON, or in words. */
export const print = (result: object, json: boolean | undefined, inWords: () => string): void => {
  const text = json ? JSON.stringify(result) : inWords();
  process.stdout.write(text.endsWith('\n') ? text : `${text}\n`);
};

/**
 * Prints results as they come, in words; as JSON all of them at the end, as one list.
 * @returns all of them
 */
export const printEach = async <T>(
  results: AsyncIterable<T>,
  json: boolean | undefined,
  inWords: (result: T) => string,
): Promise<T[]> => {
  const all: T[] = [];
  for await (const result of results) {
    all.push(result);
    if (!json) process.stdout.write(`${inWords(result)}\n`);
  }
  if (json) process.stdout.write(`${JSON.stringify(all)}\n`);
  return all;
};

/** Parser of an option or argument that names something to be read. @throws Error when there is none */
const thatExists =
  (what: 'file' | 'folder') =>
  (name: string): string => {
    if (!existsSync(name)) throw new Error(`There is no ${what} ${name}.`);
    return name;
  };

export const fileThatExists = thatExists('file');

export const folderThatExists = thatExists('folder');

/**
 * Parser of an option or argument that names something new to be written, in a folder that exists and may be written to.
 * @param named  the option or argument, as in the usage
 * @param endings  how the name may end; any when none is given
 */
export const toBeWritten =
  (named: string, ...endings: string[]) =>
  (name: string): string => {
    if (endings.length > 0 && !endings.includes(path.extname(name).toLowerCase()))
      throw new InvalidArgumentError(`It must end with ${listed(endings)}.`);
    const folder = path.dirname(name);
    if (!existsSync(folder) || !statSync(folder).isDirectory())
      throw new Error(
        `There is no folder ${folder}, in which ${named} would be written: create it, or name another.`,
      );
    assertNew(name);
    assertWritable(folder);
    return name;
  };

const assertWritable = (folder: string): void => {
  try {
    accessSync(folder, constants.W_OK);
  } catch {
    throw new Error(`This account may not write to the folder ${folder}: name another.`);
  }
};

const listed = (names: readonly string[]): string =>
  [names.slice(0, -1).join(', '), ...names.slice(-1)].filter((part) => part !== '').join(' or ');

/** Parser of an option or argument that is a whole number within bounds. */
export const wholeNumber =
  (min: number, max: number) =>
  (text: string): number => {
    const number = /^\d{1,15}$/.test(text) ? Number(text) : NaN;
    if (!(number >= min && number <= max))
      throw new InvalidArgumentError(`It must be a whole number from ${min} to ${max}.`);
    return number;
  };

/** @param faultOf  what is wrong with a text; undefined if nothing */
export const checked =
  (faultOf: (text: string) => string | undefined) =>
  (text: string): string => {
    const fault = faultOf(text);
    if (fault !== undefined) throw new InvalidArgumentError(`It ${fault}.`);
    return text;
  };
