/**
 * What a test run needs while it lasts: a PostgreSQL with a migrated database, a folder for temporary files, and the service compiled
 * to JavaScript. All are held by this process, which ends when its parent is gone for whatever reason: the pipe between them closes. At
 * the end it removes what interrupted tests have left in that folder.
 */
import { mkdirSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import '../../prisma/tools/typescript.mjs';
import { compile, isTypeScript } from '../../prisma/tools/typescript-hooks.mjs';
import { runFolder } from './run-folder.mjs';

const { startTemporaryPostgres } = await import('../../src/common/database/embedded-postgres.ts');
const { prepareRoles } = await import('../../src/common/database/roles.ts');
const { migrate } = await import('../../src/common/database/migrate.ts');

process.env.TMPDIR = runFolder();
const starting = startTemporaryPostgres('template');

/** Ends the PostgreSQL servers below the folder at once; their content is no longer needed. */
const endServers = (folder) => {
  for (const file of readdirSync(folder, { recursive: true })) {
    if (path.basename(file) !== 'postmaster.pid') continue;
    try {
      process.kill(Number.parseInt(readFileSync(path.join(folder, file), 'utf8'), 10), 'SIGQUIT');
    } catch {
      // it has already ended
    }
  }
};

const checkout = path.join(import.meta.dirname, '..', '..');

/** Compiles the service for the processes started by tests, which would each spend seconds on it. */
const build = (folder) => {
  const source = path.join(checkout, 'src');
  for (const file of readdirSync(source, { recursive: true })) {
    if (!isTypeScript(file)) continue;
    const script = path.join(folder, 'dist', file.replace(/\.tsx?$/, '.js'));
    mkdirSync(path.dirname(script), { recursive: true });
    writeFileSync(script, compile(readFileSync(path.join(source, file), 'utf8'), file, false).code);
  }
  for (const name of ['package.json', 'prisma', 'src', 'node_modules'])
    symlinkSync(path.join(checkout, name), path.join(folder, name));
};

const end = async () => {
  const server = await starting;
  const folder = path.join(server.dataDir, 'tmp');
  mkdirSync(folder, { recursive: true });
  endServers(folder);
  rmSync(folder, { recursive: true, maxRetries: 50, retryDelay: 100 });
  await server.stop();
  process.exit();
};

process.stdin.resume().once('close', end);
const { url, dataDir } = await starting;
const folder = path.join(dataDir, 'tmp');
mkdirSync(folder);
await prepareRoles(url, {});
await migrate(url);
const built = path.join(dataDir, 'built'); // outside the folder that is searched at the end, because it contains links to the checkout
build(built);
process.stdout.write(`${JSON.stringify({ url, folder, built })}\n`);
