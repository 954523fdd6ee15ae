#!/usr/bin/env node
import { runCommand } from './commands/run-command.js';

/** Whoever reads the output may stop before its end, as `head` does: no failure of the command. */
for (const stream of [process.stdout, process.stderr])
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code !== 'EPIPE') throw error;
  });

process.exitCode = await runCommand(process.argv.slice(2));
