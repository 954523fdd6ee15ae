import { execFileSync, spawnSync } from 'node:child_process';
import { chmodSync, existsSync, mkdirSync } from 'node:fs';
import path from 'node:path';

/** The user and group a child process runs as; empty: the same as ours. */
export interface RunAs {
  uid?: number;
  gid?: number;
}

export const isRoot = (): boolean => process.getuid?.() === 0;

const idOf = (flag: '-u' | '-g', user: string): number | undefined => {
  const run = spawnSync('id', [flag, user], { encoding: 'utf8' });
  return run.status === 0 ? Number.parseInt(run.stdout, 10) : undefined;
};

/**
 * The user as which PostgreSQL runs. PostgreSQL refuses to run as root, so root runs it as the system user `postgres`, which is
 * created if missing.
 * @throws Error when root has no such user and cannot create it
 */
export function databaseUser(): RunAs {
  if (!isRoot()) return {};
  if (idOf('-u', 'postgres') === undefined) {
    try {
      execFileSync('useradd', ['--system', '--user-group', '--no-create-home', 'postgres'], {
        stdio: 'pipe',
      });
    } catch {
      throw new Error(
        'PostgreSQL does not run as root, and the user "postgres" could not be created: start as another user, or set DATABASE_URL.',
      );
    }
  }
  return { uid: idOf('-u', 'postgres'), gid: idOf('-g', 'postgres') };
}

/** Whether a process of that user can enter the folder, or the nearest existing one above it. */
export function canReach(folder: string, runAs: RunAs): boolean {
  if (runAs.uid === undefined) return true;
  let existing = path.resolve(folder);
  while (!existsSync(existing)) existing = path.dirname(existing);
  return spawnSync('test', ['-x', existing], runAs).status === 0;
}

/** Creates the folder, and missing ones above it, with access for other users whatever the umask. */
export function makePassableFolder(folder: string): void {
  const first = mkdirSync(folder, { recursive: true });
  if (first === undefined) return;
  for (let made = folder; made.length >= first.length; made = path.dirname(made)) chmodSync(made, 0o755);
}
