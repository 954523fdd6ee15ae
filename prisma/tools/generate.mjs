/**
 * Runs `prisma generate` without network, and only when the schema or Prisma itself has changed, and takes what browsers load from its
 * packages: what serves it needs the files alone.
 */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { copyFileSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';

const root = path.resolve(import.meta.dirname, '..', '..');
const output = path.join(root, 'src', 'generated', 'prisma');
const stampFile = path.join(root, 'src', 'generated', 'prisma.sha256');
const require = createRequire(import.meta.url);
const { version } = require('prisma/package.json');

const schema = readFileSync(path.join(root, 'prisma', 'schema.prisma'));
const stamp = createHash('sha256').update(`${version}\n`).update(schema).digest('hex');
const known = existsSync(stampFile) ? readFileSync(stampFile, 'utf8') : '';

if (stamp !== known || !existsSync(path.join(output, 'client.ts'))) {
  const cli = path.join(path.dirname(require.resolve('prisma/package.json')), 'build', 'index.js');
  const { status, stdout, stderr } = spawnSync(process.execPath, [cli, 'generate'], {
    cwd: root,
    encoding: 'utf8',
    env: {
      ...process.env,
      CHECKPOINT_DISABLE: '1',
      PRISMA_HIDE_UPDATE_MESSAGE: '1',
      // `generate` never runs the schema engine but wants its file, which npm does not carry: any file will do.
      PRISMA_SCHEMA_ENGINE_BINARY: process.execPath,
    },
  });
  if (status !== 0) {
    process.stderr.write(`${stdout}${stderr}`);
    process.exit(status ?? 1);
  }
  writeFileSync(stampFile, stamp);
}

/** Style sheets and scripts of the page of GraphQL. */
const BROWSER_FILES = [
  'graphiql/graphiql.min.css',
  'graphiql/graphiql.min.js',
  'react/umd/react.production.min.js',
  'react-dom/umd/react-dom.production.min.js',
];

const browser = path.join(root, 'src', 'generated', 'browser');
mkdirSync(browser, { recursive: true });
for (const file of BROWSER_FILES)
  copyFileSync(path.join(root, 'node_modules', file), path.join(browser, path.basename(file)));
