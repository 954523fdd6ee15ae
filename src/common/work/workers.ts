import { availableParallelism } from 'node:os';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import type { Piscina } from 'piscina';
import { ProblemError } from '../api/problem.js';
import { packageRoot } from '../package-root.js';
import type { Job } from './job.js';
import type { Done, Task } from './thread.js';

/** Maximum number of threads; each is started when first needed. */
const MOST_THREADS = Math.min(2, availableParallelism());

/** Tasks that may wait for a thread; each holds a file in memory. */
const MOST_WAITING = 8;

const IDLE_MS = 60_000;

/** Far above what the limits of the readers allow: a thread still working by then is terminated. */
const TIME_LIMIT_MS = 120_000;

/** Memory limit of a thread; the limits of the readers stay well below it. [MB] */
const MEMORY_MB = 768;

/** Part of it for the young generation: less than the default takes a fifth more processor time, but saves 60 MB of memory while 10 km are drawn. [MB] */
const YOUNG_MB = 8;

/** When run from a checkout, as in tests, the threads load the .ts files directly. */
const isSource = import.meta.url.endsWith('.ts');

const loader = pathToFileURL(path.join(packageRoot, 'prisma', 'tools', 'typescript.mjs')).href;

/**
 * Threads for work that grows with an upload: reading tables and workbooks, so that an external file does not slow down other
 * requests. The number of tasks is limited; beyond it the caller is asked to retry.
 */
@Injectable()
export class Workers implements OnApplicationShutdown {
  private pool: Promise<Piscina> | undefined;
  private tasks = 0;

  /**
   * Runs a job in another thread.
   * @throws ProblemError as thrown by the work; unavailable when too many are waiting or the thread takes too long; too_large
   * when it needs too much memory
   */
  async run<Input, Output>({ module, name }: Job<Input, Output>, input: Input): Promise<Output> {
    const done = await this.send({ module, name, input });
    if ('result' in done) return done.result as Output;
    const { code, detail, faults } = done.problem;
    throw new ProblemError(code, detail, faults);
  }

  async close(): Promise<void> {
    await (await this.pool)?.destroy();
    this.pool = undefined;
  }

  onApplicationShutdown(): Promise<void> {
    return this.close();
  }

  private async send(task: Task): Promise<Done> {
    if (this.tasks >= MOST_THREADS + MOST_WAITING)
      throw new ProblemError(
        'unavailable',
        `The service is reading ${this.tasks} tables already; nothing was written. Try again.`,
      );
    this.tasks += 1;
    const timeout = new AbortController();
    const timer = setTimeout(() => timeout.abort(), TIME_LIMIT_MS);
    try {
      this.pool ??= this.start();
      const pool = await this.pool;
      return (await pool.run(task, { signal: timeout.signal })) as Done;
    } catch (error) {
      if (timeout.signal.aborted)
        throw new ProblemError(
          'unavailable',
          `The table was not read within ${TIME_LIMIT_MS / 1000} s; nothing was written. Split it, or try again.`,
        );
      if ((error as NodeJS.ErrnoException).code === 'ERR_WORKER_OUT_OF_MEMORY')
        throw new ProblemError('too_large', 'Reading the table takes more memory than it may: split it.');
      throw error;
    } finally {
      this.tasks -= 1;
      clearTimeout(timer);
    }
  }

  private async start(): Promise<Piscina> {
    const { Piscina } = await import('piscina'); // loaded with the first table
    return new Piscina({
      filename: fileURLToPath(new URL(`./thread.${isSource ? 'ts' : 'js'}`, import.meta.url)),
      name: 'run',
      minThreads: 0,
      maxThreads: MOST_THREADS,
      idleTimeout: IDLE_MS,
      execArgv: isSource ? ['--import', loader] : [],
      atomics: 'disabled',
      env: {}, // keeps secrets out of reach of code that reads external files
      resourceLimits: { maxOldGenerationSizeMb: MEMORY_MB, maxYoungGenerationSizeMb: YOUNG_MB },
    });
  }
}
