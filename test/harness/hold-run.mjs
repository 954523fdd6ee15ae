/**
 * What a test run needs while it lasts: a PostgreSQL with a migrated database (TEST_SERVER names one that is running), a folder for
 * temporary files, and the service compiled to JavaScript. All are held by this process, which ends when its parent is gone for whatever
 * reason: the pipe between them closes. At the end it removes what interrupted tests have left in that folder.
 */
import {
  chmodSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import '../../prisma/tools/typescript.mjs';
import { compile, isTypeScript } from '../../prisma/tools/typescript-hooks.mjs';
import { runFolder } from './run-folder.mjs';

const { startTemporaryPostgres } = await import('../../src/common/database/embedded-postgres.ts');
const { prepareRoles } = await import('../../src/common/database/roles.ts');
const { migrate } = await import('../../src/common/database/migrate.ts');

process.env.TMPDIR = runFolder();

/** A template database on a server that is already running, named by the URL of a superuser. Its roles stay there. */
const onServer = async (url) => {
  const name = `template_${process.pid}`;
  const run = async (work) => {
    const client = new pg.Client({ connectionString: url });
    await client.connect();
    await work((sql) => client.query(sql));
    await client.end();
  };
  await run((query) => query(`create database ${name}`));
  const template = new URL(url);
  template.pathname = name;
  const dataDir = mkdtempSync(path.join(process.env.TMPDIR, 'drivebook-tests-'));
  chmodSync(dataDir, 0o755); // servers that tests start may run as another user
  const stop = async () => {
    rmSync(dataDir, { recursive: true });
    await run(async (query) => {
      const { rows } = await query(
        `select datname from pg_database where datname = '${name}' or datname ~ '^${name}_'`,
      );
      for (const { datname } of rows) await query(`drop database ${datname} with (force)`);
    });
  };
  return { url: template.href, dataDir, stop };
};

const { TEST_SERVER } = process.env;
const starting = TEST_SERVER ? onServer(TEST_SERVER) : startTemporaryPostgres('template');

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
