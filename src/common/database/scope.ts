import { AsyncLocalStorage } from 'node:async_hooks';
import type { Listing } from './listed.js';
import type { SharedReading } from './shared-reading.js';

/** The one project that a piece of work reads and writes, and who does it. The database holds the work to it. */
export interface Scope {
  projectId: number;
  /** Its code. */
  project: string;
  /** Who acts, for the history and the rule of the second person. */
  actor: string;
  /** Credential used. */
  credential: string;
  /** What who acts may do in the project; undefined: a command, which may do all. */
  permissions?: ReadonlySet<string>;
  /** Why, where the caller says so. */
  reason?: string;
  /** The request that the work belongs to. */
  requestId?: string;
  /** Reads answer as the record stood then: an instant, or the number of a change. */
  asOf?: Moment | { change: number };
  /** What the work asks of the database; undefined: it is light, and nobody may call it off. */
  load?: Load;
  /** The transaction that the operation reads in; undefined: each reading has its own. */
  readings?: SharedReading;
  /** Who answers the list whole of which the first page is asked. */
  listing?: Listing;
}

/** A moment that is asked of, and the part of the request that named it. */
export interface Moment {
  instant: string;
  in: 'query' | 'body';
}

export interface Load {
  /** 0: light; more for heavy work, by what it is expected to take. */
  cost: number;
  /** Aborted when nobody waits for the answer any more. */
  gone?: AbortSignal;
}

const storage = new AsyncLocalStorage<Scope>();

/** Does the work within the scope, and all that it calls. */
export const inScope = <T>(scope: Scope, work: () => T): T => storage.run(scope, work);

/** The scope of the work at hand. @throws Error outside any scope: a query would see nothing */
export const scope = (): Scope => {
  const current = storage.getStore();
  if (!current) throw new Error('no scope: the database shows nothing outside of a project');
  return current;
};

/** The project of the scope. */
export const scopedProject = (): number => scope().projectId;
