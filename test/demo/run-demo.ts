import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';

export interface Ended {
  status: number | null;
  stdout: string;
  stderr: string;
}

/** The real command in a separate process. */
export class RunningDemo {
  stdout = '';
  stderr = '';
  readonly process: ChildProcess;
  private readonly closed: Promise<unknown>;

  constructor(args: string[], env: Record<string, string>) {
    this.process = spawn(
      process.execPath,
      [path.join(process.env.TEST_BUILT ?? '', 'dist', 'cli.js'), 'demo', ...args],
      {
        env: { ...process.env, DATABASE_URL: '', DATA_DIR: '', HOST: '', LOG_LEVEL: '', PORT: '0', ...env },
        stdio: ['ignore', 'pipe', 'pipe'],
      },
    );
    this.process.stdout?.on('data', (chunk) => (this.stdout += String(chunk)));
    this.process.stderr?.on('data', (chunk) => (this.stderr += String(chunk)));
    const endWithTests = (): boolean => this.process.kill();
    process.once('exit', endWithTests);
    this.closed = once(this.process, 'close').finally(() => process.off('exit', endWithTests));
  }

  /** Waits until it has printed the text, or has ended. */
  async printed(text: string): Promise<void> {
    while (!this.stdout.includes(text) && this.process.exitCode === null && this.process.signalCode === null)
      await Promise.race([once(this.process.stdout ?? this.process, 'data'), this.closed]);
  }

  async ended(): Promise<Ended> {
    await this.closed;
    const { stdout, stderr } = this;
    return { status: this.process.exitCode, stdout, stderr };
  }
}

export const runDemo = (args: string[], env: Record<string, string>): Promise<Ended> =>
  new RunningDemo(args, env).ended();
