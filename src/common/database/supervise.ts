import type { ChildProcess } from 'node:child_process';
import { setTimeout as pause } from 'node:timers/promises';
import { killServer, stopPostmaster } from './postmaster.js';

/** Pauses before each attempt to restart a server that has ended: temporary causes, such as a full disk, may pass. [ms] */
const PAUSES_MS = [100, 1000, 2000, 5000, 10_000, 20_000];

/** After this running time the server counts as stable: when it ends, the attempts start again. [ms] */
const SOUND_MS = 60_000;

/** Time for an orderly stop before an immediate one, when there is no hurry. [ms] */
const FAST_MS = 60_000;

const IMMEDIATE_MS = 1500;

export interface Supervision {
  /** Starts the server again; undefined when another process has taken its port. */
  start: () => Promise<ChildProcess | undefined>;
  report: (message: string) => void;
  /** Called when the server has been stopped. */
  stopped: () => void;
}

export interface Supervised {
  stop(fastMs?: number): Promise<void>;
  /** Resolves when the server has ended and could not be started again. */
  lost: Promise<Error>;
  /** Kills the server at once, before it touches its folder again, and does not restart it. */
  abandon(): void;
}

/** Keeps a server running: when its postmaster ends, it is started again, a few times. */
export const supervise = (first: ChildProcess, { start, report, stopped }: Supervision): Supervised => {
  let server: ChildProcess | undefined = first;
  let stopping: Promise<void> | undefined;
  let restarting: Promise<void> | undefined;
  let tries = 0;
  let isAbandoned = false;
  let lose: (error: Error) => void = () => undefined;
  const lost = new Promise<Error>((resolve) => (lose = resolve));
  const fastShutdown = (): void => void server?.kill('SIGINT');
  process.once('exit', fastShutdown); // if process.exit() is called without stop()

  const isOver = (): boolean => isAbandoned || stopping !== undefined;

  const isEnded = ({ exitCode, signalCode }: ChildProcess): boolean =>
    exitCode !== null || signalCode !== null;

  const restart = async (): Promise<void> => {
    let failure = new Error('its port was taken');
    while (tries < PAUSES_MS.length && !isOver()) {
      await pause(PAUSES_MS[tries]);
      tries += 1;
      if (isOver()) return;
      try {
        const next = await start();
        if (next) {
          watch(next);
          if (isAbandoned) abandon();
          else report('PostgreSQL runs again.');
          return;
        }
      } catch (error) {
        failure = error as Error;
        report(`PostgreSQL was not started again: ${failure.message}`);
      }
    }
    if (!isOver()) lose(new Error(`PostgreSQL ended and could not be started again: ${failure.message}`));
  };

  const watch = (running: ChildProcess): void => {
    server = running;
    const since = Date.now();
    const ended = (): void => {
      server = undefined;
      if (isOver()) return;
      if (Date.now() - since > SOUND_MS) tries = 0;
      const how = running.signalCode ?? `status ${running.exitCode}`;
      report(`PostgreSQL ended unexpectedly (${how}): it is started again.`);
      restarting = restart();
    };
    if (isEnded(running)) ended();
    else running.once('exit', ended);
  };
  watch(first);

  const stop = async (fastMs: number): Promise<void> => {
    await restarting;
    if (server?.pid && !isEnded(server))
      await stopPostmaster(server.pid, { fastMs, immediateMs: IMMEDIATE_MS });
    process.off('exit', fastShutdown);
    stopped();
  };
  const abandon = (): void => {
    isAbandoned = true;
    if (server?.pid && !isEnded(server)) killServer(server.pid);
  };

  return {
    lost,
    abandon,
    stop: (fastMs = FAST_MS) => (stopping ??= stop(fastMs)),
  };
};
