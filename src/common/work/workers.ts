import { availableParallelism } from 'node:os';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import type { Piscina } from 'piscina';
import { ProblemError } from '../api/problem.js';
import { packageRoot } from '../package-root.js';
import type { Job } from './job.js';
import type { Done, Task } from './thread.js';

/** Threads at most; each is started when it is first needed. */
const MOST_THREADS = Math.min(2, availableParallelism());

/** Tasks that wait for a thread; each holds a file in memory. */
const MOST_WAITING = 8;

const IDLE_MS = 60_000;

/** Far beyond what the limits of the readers let through: a thread that is still at work by then is ended. */
const TIME_LIMIT_MS = 120_000;

/** Memory of a thread; the limits of the readers keep well below it. [MB] */
const MEMORY_MB = 768;

/** Of it, for what is new: less than usual takes a fifth more processor time, and spares 60 MB of resident memory while 10 km are drawn. [MB] */
const YOUNG_MB = 8;

/** From a checkout, as in the tests, the threads load .ts files as they are. */
const isSource = import.meta.url.endsWith('.ts');

const loader = pathToFileURL(path.join(packageRoot, 'prisma', 'tools', 'typescript.mjs')).href;

/**
 * Threads for work that grows with an upload: reading tables and workbooks. What a file from outside costs is then no
 * other request's loss. It takes a bounded number of tasks; beyond that the caller is asked to come again.
 */
@Injectable()
export class Workers implements OnApplicationShutdown {
  private pool: Promise<Piscina> | undefined;
  private tasks = 0;

  /**
   * Does a job in another thread.
   * @throws ProblemError as the work throws it; unavailable when too many wait or the thread takes too long; too_large
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
    const { Piscina } = await import('piscina'); // not before a first table comes
    return new Piscina({
      filename: fileURLToPath(new URL(`./thread.${isSource ? 'ts' : 'js'}`, import.meta.url)),
      name: 'run',
      minThreads: 0,
      maxThreads: MOST_THREADS,
      idleTimeout: IDLE_MS,
      execArgv: isSource ? ['--import', loader] : [],
      atomics: 'disabled',
      env: {}, // no secret is within reach of what reads files from outside
      resourceLimits: { maxOldGenerationSizeMb: MEMORY_MB, maxYoungGenerationSizeMb: YOUNG_MB },
    });
  }
}
