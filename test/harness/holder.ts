import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import path from 'node:path';
import type { EmbeddedOptions } from '../../src/common/database/embedded-postgres.js';
import { packageRoot } from '../../src/common/package-root.js';

export interface Holder {
  process: ChildProcess;
  url?: string;
  dataDir?: string;
  error?: string;
}

/** Starts an embedded PostgreSQL from another process, which lives until it is ended, or until this process ends. */
export async function holdPostgres(
  options: EmbeddedOptions,
  checkout = packageRoot,
  stderr: 'inherit' | 'pipe' = 'inherit',
): Promise<Holder> {
  const script = path.join(packageRoot, 'test', 'harness', 'hold-postgres.mjs');
  const child = spawn(process.execPath, [script, checkout, JSON.stringify(options)], {
    stdio: ['pipe', 'pipe', stderr],
  });
  let text = '';
  for await (const chunk of child.stdout ?? []) {
    text += String(chunk);
    if (text.endsWith('\n')) break;
  }
  return { process: child, ...(JSON.parse(text) as Omit<Holder, 'process'>) };
}

/** Ends a holder with the signal. SIGTERM lets it stop its server, SIGKILL does not. */
export async function end({ process: holder }: Holder, signal: 'SIGTERM' | 'SIGKILL'): Promise<void> {
  if (holder.exitCode !== null || holder.signalCode !== null) return;
  const over = once(holder, 'exit');
  holder.kill(signal);
  await over;
}

export const postmasterPid = (dataDir: string): number =>
  Number.parseInt(readFileSync(path.join(dataDir, 'postgresql', 'postmaster.pid'), 'utf8'), 10);
