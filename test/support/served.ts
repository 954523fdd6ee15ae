import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';

const SCRIPT = path.join(packageRoot, 'test', 'support', 'serve.mjs');

/** A start meets a database that is away; a supervisor would try as often. */
const STARTS = 100;

/** The service in a process of its own, which is ended and started again. */
export class Served {
  private process: ChildProcess | undefined;
  /** Where it listens: of the next start, while it does not run. */
  address: Promise<string>;
  private listening: (address: string) => void = () => undefined;

  /** @param settings  environment variables */
  constructor(private readonly settings: NodeJS.ProcessEnv) {
    this.address = new Promise((resolve) => (this.listening = resolve));
  }

  /** Starts it until it serves. @throws Error with its last words */
  async start(): Promise<void> {
    let words = '';
    for (let tries = 0; tries < STARTS; tries += 1) {
      const child = spawn(process.execPath, [SCRIPT], {
        env: { ...process.env, PORT: '0', LOG_LEVEL: 'silent', ...this.settings },
        stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
      });
      this.process = child;
      words = '';
      const { stdout, stderr } = child;
      if (!stdout || !stderr) continue;
      stderr.on('data', (bytes) => (words += String(bytes)));
      let text = '';
      for await (const piece of stdout.iterator({ destroyOnReturn: false })) {
        text += String(piece);
        const address = /http:\S+?:\d+/.exec(text)?.[0];
        if (address === undefined || !text.includes('Ctrl-C')) continue;
        stdout.resume();
        this.listening(address);
        return;
      }
    }
    throw new Error(`The service did not start: ${words}`);
  }

  /** Ends it by the signal. @returns its exit status; null when the signal ended it */
  async end(signal: 'SIGTERM' | 'SIGKILL'): Promise<number | null> {
    const child = this.process;
    if (!child) return null;
    this.address = new Promise((resolve) => (this.listening = resolve));
    if (child.exitCode === null && child.signalCode === null) {
      const over = once(child, 'exit');
      child.kill(signal);
      await over;
    }
    return child.exitCode;
  }
}
