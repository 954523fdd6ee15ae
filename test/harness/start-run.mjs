import { spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { createInterface } from 'node:readline';

const script = path.join(import.meta.dirname, 'hold-run.mjs');

/** One PostgreSQL for the whole run, with a migrated database that test files clone (database.ts), and one folder. */
export default async function start() {
  // detached: Ctrl-C reaches every process of the terminal's group, and this one cleans up after the others
  const holder = spawn(process.execPath, [script], { detached: true, stdio: ['pipe', 'pipe', 'inherit'] });
  globalThis.heldTestRun = holder;
  const ended = once(holder, 'exit').then(() => {
    throw new Error('The PostgreSQL of the tests did not start.');
  });
  ended.catch(() => undefined);
  const [line] = await Promise.race([once(createInterface(holder.stdout), 'line'), ended]);
  const { url, folder, built } = JSON.parse(line);
  process.env.TEST_TEMPLATE_URL = url;
  process.env.TMPDIR = folder;
  process.env.TEST_BUILT = built;
}
