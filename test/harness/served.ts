import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';

const SCRIPT = path.join(packageRoot, 'test', 'harness', 'serve.mjs');

/** Time for a start while the database is away; a supervisor would retry as long. */
const STARTING_MS = 300_000;

export type CommandLine = (command: string, args: string[]) => [string, string[]];

/** The service in a separate process, which can be ended and restarted. */
export class Served {
  private process: ChildProcess | undefined;
  /** The address on which it listens; while it is not running, that of the next start. */
  address!: Promise<string>;
  /** Output of its last start until it listened. */
  words = '';
  private listening!: (address: string) => void;
  private lost!: (failure: Error) => void;

  /**
   * @param settings  environment variables
   * @param through   the command line to run, given the service's own
   */
  constructor(
    private readonly settings: NodeJS.ProcessEnv,
    private readonly through: CommandLine = (command, args) => [command, args],
  ) {
    this.expectAddress();
  }

  private expectAddress(): void {
    this.address = new Promise((resolve, reject) => {
      this.listening = resolve;
      this.lost = reject;
    });
    this.address.catch(() => undefined); // possibly nobody is waiting for it
  }

  /** Starts it until it serves. @throws Error with its last output, also for those waiting for its address */
  async start(): Promise<void> {
    const end = performance.now() + STARTING_MS;
    for (;;) {
      const words = await this.startOnce();
      if (words === undefined) return;
      if (performance.now() < end) continue;
      const failure = new Error(`The service did not start: ${words}`);
      this.lost(failure);
      throw failure;
    }
  }

  /** Starts it. @returns its last output if it did not get to serve */
  async startOnce(): Promise<string | undefined> {
    const child = spawn(...this.through(process.execPath, [SCRIPT]), {
      env: { ...process.env, PORT: '0', LOG_LEVEL: 'silent', ...this.settings },
      stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
    });
    this.process = child;
    let words = '';
    const { stdout, stderr } = child;
    if (!stdout || !stderr) return words;
    stderr.on('data', (bytes) => (words += String(bytes)));
    let text = '';
    for await (const piece of stdout.iterator({ destroyOnReturn: false })) {
      text += String(piece);
      const address = /http:\S+?:\d+/.exec(text)?.[0];
      if (address === undefined || !text.includes('Ctrl-C')) continue;
      stdout.resume();
      this.words = text;
      this.listening(address);
      return undefined;
    }
    return words;
  }

  /** Ends it with the signal. @returns its exit status; null if the signal ended it */
  async end(signal: 'SIGTERM' | 'SIGKILL'): Promise<number | null> {
    const child = this.process;
    if (!child) return null;
    this.expectAddress();
    if (child.exitCode === null && child.signalCode === null) {
      const over = once(child, 'exit');
      child.kill(signal);
      await over;
    }
    return child.exitCode;
  }
}
