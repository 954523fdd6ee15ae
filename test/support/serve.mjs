/** The service in a process of its own, from the sources: settings as environment variables. */
import '../../prisma/tools/typescript.mjs';

const { runCommand } = await import('../../src/commands/run-command.ts');

process.exitCode = await runCommand(['serve']);
