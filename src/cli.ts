#!/usr/bin/env node
import { runCommand } from './commands/run-command.js';

/** A reader of the output may close it early, as `head` does: not a failure of the command. */
for (const stream of [process.stdout, process.stderr])
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
  });

process.exitCode = await runCommand(process.argv.slice(2));
