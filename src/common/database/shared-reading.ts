import { setImmediate } from 'node:timers/promises';
import type pg from 'pg';
import { hasGone } from './admission.js';
import { type Asked, ReadingMessages } from './reading-messages.js';
import type { Load, Scope } from './scope.js';
import type { StatementLimits } from './session.js';

/** Serves readings over its connection; calls back once something has been read. */
export type Serve = (client: pg.PoolClient, begun: () => void) => Promise<void>;

/** Lends a connection to a scope as soon as its turn comes. */
export interface Lender {
  limits?: StatementLimits;
  lend(scope: Scope, serve: Serve): Promise<void>;
}

/**
 * The readings of one operation: one transaction, so one state of the record, and one message for all queries made in a turn of
 * the event loop, whatever the number of drives and projects. It begins with the first reading.
 */
export class SharedReading {
  private readonly asked: Asked[] = [];
  /** Queries in progress. */
  private taken: Asked[] = [];
  private transaction?: Promise<void>;
  private failure?: { error: unknown };
  private isEnding = false;
  private isOver = false;
  private readonly answers = new Map<string, Promise<pg.QueryResult>>();
  private wake = (): void => undefined;

  /** @param load  of the whole operation: statements run one at a time, so the heaviest decides */
  constructor(private readonly load: Load = { cost: 0 }) {}

  /** @param run  runs it in another way than as a statement with rows */
  send(
    lender: Lender,
    scope: Scope,
    sql: string,
    values: unknown[],
    run?: Asked['run'],
  ): Promise<pg.QueryResult> {
    if (this.isOver) return Promise.reject(hasGone());
    if (this.failure) return Promise.reject(this.failure.error as Error);
    return new Promise((resolve, reject) => {
      this.asked.push({ scope, sql, values, run, resolve, reject });
      this.transaction ??= this.begin(lender, scope);
      this.wake();
    });
  }

  /** The same for a query that several readings share: it runs once. */
  sendOnce(lender: Lender, scope: Scope, sql: string): Promise<pg.QueryResult> {
    const key = JSON.stringify([scope.projectId, scope.asOf, sql]);
    const answer = this.answers.get(key) ?? this.send(lender, scope, sql, []);
    this.answers.set(key, answer);
    return answer;
  }

  /** Called before a write: what is read after the write must see it, in a new transaction. */
  async pause(): Promise<void> {
    this.answers.clear();
    this.isEnding = true;
    this.wake();
    await this.transaction;
    this.isEnding = false;
    this.failure = undefined;
  }

  /** Refuses further queries. Settles when the connection has been returned, unless it is at work. */
  async end(): Promise<void> {
    this.isOver = true;
    this.isEnding = true;
    this.wake();
    if (this.taken.length === 0) await this.transaction;
  }

  private async begin(lender: Lender, scope: Scope): Promise<void> {
    try {
      await lender.lend({ ...scope, load: this.load }, (client, begun) =>
        this.serve(new ReadingMessages(client, lender.limits, this.load.gone), begun),
      );
    } catch (error) {
      this.failure = { error };
      for (const { reject } of [...this.taken, ...this.asked.splice(0)]) reject(error);
      this.taken = [];
    }
    // queries made while the connection was being returned need a new server
    const [late] = this.asked;
    this.transaction = late && this.begin(lender, late.scope);
  }

  /** If the first connection had broken while idle, a second one serves what it left unanswered. */
  private async serve(messages: ReadingMessages, begun: () => void): Promise<void> {
    for (;;) {
      if (this.taken.length === 0) this.taken = await this.next();
      if (this.taken.length === 0) return;
      if (this.load.gone?.aborted) throw hasGone();
      await messages.answer(this.taken);
      this.taken = [];
      begun();
    }
  }

  /** All queries until the next turn of the event loop; empty at the end. */
  private async next(): Promise<Asked[]> {
    while (this.asked.length === 0) {
      if (this.isEnding) return [];
      await new Promise<void>((wake) => (this.wake = wake));
    }
    await setImmediate();
    return this.asked.splice(0);
  }
}
