#!/usr/bin/env node
import { runCommand } from './commands/run-command.js';

process.exitCode = await runCommand(process.argv.slice(2));
