/** Compiles src to dist, and only when sources, settings or libraries have changed since the last time. */
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import './generate.mjs';

const root = path.resolve(import.meta.dirname, '..', '..');
const stampFile = path.join(root, 'dist', '.sources.sha256');

const sources = readdirSync(path.join(root, 'src'), { recursive: true, withFileTypes: true })
  .filter((entry) => entry.isFile())
  .map(({ parentPath, name }) => path.relative(root, path.join(parentPath, name)))
  .sort();
const hash = createHash('sha256');
for (const file of ['package-lock.json', 'tsconfig.json', 'tsconfig.build.json', ...sources])
  hash.update(`${file}\n`).update(readFileSync(path.join(root, file)));
const stamp = hash.digest('hex');
const known = existsSync(stampFile) ? readFileSync(stampFile, 'utf8') : '';

if (stamp !== known) {
  process.stderr.write('Compiling, which takes up to a minute …\n');
  const tsc = path.join(root, 'node_modules', '.bin', 'tsc');
  const { status } = spawnSync(tsc, ['-p', 'tsconfig.build.json'], {
    cwd: root,
    stdio: 'inherit',
    shell: process.platform === 'win32',
  });
  if (status !== 0) process.exit(status ?? 1);
  writeFileSync(stampFile, stamp);
}
