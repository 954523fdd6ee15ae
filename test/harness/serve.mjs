/** The service in a separate process, compiled by the run (hold-run.mjs): settings as environment variables. */
import path from 'node:path';
import { pathToFileURL } from 'node:url';

const command = path.join(process.env.TEST_BUILT, 'dist', 'commands', 'run-command.js');
const { runCommand } = await import(pathToFileURL(command).href);

// ends with the test that started it with a channel
process.once('disconnect', () => process.exit(1));
process.channel?.unref();

process.exitCode = await runCommand(['serve']);
