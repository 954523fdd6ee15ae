import { jest } from '@jest/globals';
import { runCommand } from '../../src/commands/run-command.js';

/** The result of a command: exit status, output, and the database that it named. */
export interface Captured {
  status: number;
  out: string;
  /** Standard error, without the line that names the database. */
  err: string;
  database?: string;
}

/** Runs a command. */
export const captured = async (...args: string[]): Promise<Captured> => {
  let [out, err] = ['', ''];
  const stdout = jest
    .spyOn(process.stdout, 'write')
    .mockImplementation((text) => Boolean((out += String(text))));
  const stderr = jest
    .spyOn(process.stderr, 'write')
    .mockImplementation((text) => Boolean((err += String(text))));
  try {
    const status = await runCommand(args);
    const [line, database] = /^Database: (.*)\.\n/m.exec(err) ?? [];
    return { status, out, err: err.replace(line ?? '', ''), ...(database === undefined ? {} : { database }) };
  } finally {
    stdout.mockRestore();
    stderr.mockRestore();
  }
};
