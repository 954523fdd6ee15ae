/** The service in a process of its own, from the sources: settings as environment variables. */
import '../../prisma/tools/typescript.mjs';

const { runCommand } = await import('../../src/commands/run-command.ts');

// it does not outlive a test that started it with a channel
process.once('disconnect', () => process.exit(1));
process.channel?.unref();

process.exitCode = await runCommand(['serve']);
