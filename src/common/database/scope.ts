import { AsyncLocalStorage } from 'node:async_hooks';
import type { Listing } from './listed.js';
import type { SharedReading } from './shared-reading.js';

/** The one project that a piece of work reads and writes, and the actor. The database confines the work to it. */
export interface Scope {
  projectId: number;
  /** Its code. */
  project: string;
  /** The actor, for the history and the rule of the second person. */
  actor: string;
  /** Credential used. */
  credential: string;
  /** The actor's permissions in the project; undefined: a command, which may do everything. */
  permissions?: ReadonlySet<string>;
  /** The reason given for the change, if any. */
  reason?: string;
  /** The request to which the work belongs. */
  requestId?: string;
  /** Readings answer as of then: an instant, or the number of a change. */
  asOf?: Moment | { change: number };
  /** Expected database load; undefined: light, and not cancelled when the caller disconnects. */
  load?: Load;
  /** The transaction in which the operation reads; undefined: a transaction per reading. */
  readings?: SharedReading;
  /** Set where the caller answers a whole list and takes its query instead of the first page. */
  listing?: Listing;
}

/** A moment to read as of, and the part of the request that gave it. */
export interface Moment {
  instant: string;
  in: 'query' | 'body';
}

export interface Load {
  /** 0: light; for heavy work, more according to its expected size. */
  cost: number;
  /** Aborted when nobody is waiting for the answer any more. */
  gone?: AbortSignal;
}

const storage = new AsyncLocalStorage<Scope>();

/** Runs the work, and everything it calls, within the scope. */
export const inScope = <T>(scope: Scope, work: () => T): T => storage.run(scope, work);

/** The current scope. @throws Error outside any scope: a query would see nothing */
export const scope = (): Scope => {
  const current = storage.getStore();
  if (!current) throw new Error('no scope: the database shows nothing outside of a project');
  return current;
};

/** The project of the scope. */
export const scopedProject = (): number => scope().projectId;
