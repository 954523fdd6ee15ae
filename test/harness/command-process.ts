import { spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';
import type { Proxy } from './proxy.js';

/** The command line compiled by the test run (hold-run.mjs). */
export const cli = (): string => path.join(process.env.TEST_BUILT ?? packageRoot, 'dist', 'cli.js');

export interface Ended {
  /** null when it was killed. */
  status: number | null;
  err: string;
}

/**
 * Runs a command in a separate process that reaches its database through the proxy, and kills it (SIGKILL) when it sends the first
 * statement that satisfies the condition; that statement is still forwarded.
 */
export const killedAt = async (
  proxy: Proxy,
  args: string[],
  settings: NodeJS.ProcessEnv,
  statement: (sql: string, number: number) => boolean,
): Promise<Ended> => {
  const child = spawn(process.execPath, [cli(), ...args], {
    env: { ...process.env, ...settings, DATABASE_URL: proxy.url },
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  const first = proxy.statements.length;
  proxy.cutAt({
    when: 'before',
    statement: (sql, number) => {
      if (statement(sql, number - first)) child.kill('SIGKILL');
      return false; // the process ends, not the connection
    },
  });
  let err = '';
  child.stderr.on('data', (bytes) => (err += String(bytes)));
  await once(child, 'close');
  proxy.cutAt(undefined);
  return { status: child.exitCode, err };
};
