import { jest } from '@jest/globals';
import { runCommand } from '../../src/commands/run-command.js';

/** Runs a command. @returns its exit status and what it printed */
export const captured = async (...args: string[]): Promise<{ status: number; out: string; err: string }> => {
  let [out, err] = ['', ''];
  const stdout = jest
    .spyOn(process.stdout, 'write')
    .mockImplementation((text) => Boolean((out += String(text))));
  const stderr = jest
    .spyOn(process.stderr, 'write')
    .mockImplementation((text) => Boolean((err += String(text))));
  try {
    return { status: await runCommand(args), out, err };
  } finally {
    stdout.mockRestore();
    stderr.mockRestore();
  }
};
