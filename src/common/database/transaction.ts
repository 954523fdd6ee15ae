import { AsyncLocalStorage } from 'node:async_hooks';
import { createHash } from 'node:crypto';
import { setImmediate } from 'node:timers/promises';
import pg from 'pg';
import type { Scope } from './scope.js';
import { inZone, SET_GROUND } from './session.js';
import { isUnavailable, sqlStateOf } from './sql-error.js';

/** Sends a statement of a transaction; it need not be awaited before the next is sent. */
export type Send = (sql: string, ...values: unknown[]) => Promise<pg.QueryResult>;

/**
 * The work of a transaction: the function it returns sends the last statements, which travel with the commit. They are sent at
 * once, one after the other, so none of them may depend on another's rows.
 */
export type Work<T> = (client: pg.PoolClient) => Promise<() => Promise<T>>;

/** The connection broke after COMMIT was sent: PostgreSQL may or may not have committed. */
export class OutcomeUnknown extends Error {
  constructor(options: ErrorOptions) {
    super('the connection broke after COMMIT was sent', options);
  }
}

/** The statements are few and fixed: each is planned once per connection, under a name derived from its text. */
export const statementName = ({ sql }: { sql: string }): string => {
  const known = names.get(sql);
  if (known !== undefined) return known;
  if (names.size >= MOST_NAMES) names.clear();
  const name = `s${createHash('sha1').update(sql).digest('base64url')}`;
  names.set(sql, name);
  return name;
};

const names = new Map<string, string>();
const MOST_NAMES = 2000;

export const sender =
  (client: pg.PoolClient): Send =>
  (sql, ...values) =>
    client.query({ name: statementName({ sql }), text: sql, values });

const ENTER = `select ${SET_GROUND}, set_config('drivebook.project', $1, true), set_config('drivebook.actor', $2, true),
  set_config('drivebook.credential', $3, true), set_config('drivebook.reason', $4, true), set_config('drivebook.request', $5, true), ${inZone('$1::int')}`;

const settingsOf = ({ projectId, actor, credential, reason = '', requestId = '' }: Scope): string[] => [
  String(projectId),
  actor,
  credential,
  reason,
  requestId,
];

/** Equal for two scopes with the same transaction settings. */
const settingsKey = (scope: Scope): string => JSON.stringify(settingsOf(scope));

/** Deferred constraints are checked here, where the error can be read, rather than by the commit. */
const HOLD_RULES = 'set constraints all immediate';

/** Begins the transaction and enters the scope. Not awaited: the work's first statement follows at once. */
const entering = (client: pg.PoolClient, begin: string, scope: Scope): Promise<unknown> => {
  const send = sender(client);
  const entered = Promise.all([client.query(begin), send(ENTER, ...settingsOf(scope))]);
  entered.catch(() => undefined); // reported when the work fails
  return entered;
};

/** If the opening failed, its failure is reported rather than that of the work. */
const entered = async <T>(opening: Promise<unknown>, work: Promise<T>): Promise<T> => {
  try {
    return await work;
  } catch (error) {
    await opening;
    throw error;
  }
};

/** Our own code for a connection that has been silent for too long. */
const CONNECTION_GIVEN_UP = '08006';

/**
 * PostgreSQL's way to say that a COMMIT was refused: an error that leaves the session alive. A full disk (53100) instead ends the
 * server, and the commit may already be in the part of the log that was written.
 */
const isRefusal = (error: unknown): boolean =>
  error instanceof pg.DatabaseError && !/^(08|53|57P|58|XX)/.test(sqlStateOf(error) ?? '');

/** The driver's message for a connection over which nothing was sent. */
const NOT_SENT = /not queryable/;

const isUnknown = (error: unknown): boolean =>
  isUnavailable(error) && !isRefusal(error) && !NOT_SENT.test(String((error as Error).message));

/** The connection failed, not the statement: PostgreSQL has not answered. */
const isUnanswered = (error: unknown): boolean =>
  isUnavailable(error) && (!(error instanceof pg.DatabaseError) || error.code === CONNECTION_GIVEN_UP);

/** A statement that the driver itself refused never reaches PostgreSQL, and must hold the commit back. */
const sendLast = async <T>(last: () => Promise<T>): Promise<{ sent: Promise<T> }> => {
  const sent = last();
  let refused = false;
  sent.catch(() => (refused = true));
  await setImmediate();
  if (refused) await sent;
  return { sent };
};

/**
 * Sends the last statements, the constraint check and the commit without waiting in between. PostgreSQL runs them in order, and
 * after a failed statement answers COMMIT with a rollback: an error before COMMIT means that nothing was written.
 * @throws OutcomeUnknown
 */
const finish = async <T>(client: pg.PoolClient, last: () => Promise<T>): Promise<T> => {
  const { sent } = await sendLast(last);
  const [result, held, committed] = await Promise.allSettled([
    sent,
    client.query(HOLD_RULES),
    client.query('commit'),
  ]);
  for (const before of [result, held])
    if (before.status === 'rejected' && !isUnanswered(before.reason)) throw before.reason;
  if (committed.status === 'rejected')
    throw isUnknown(committed.reason) ? new OutcomeUnknown({ cause: committed.reason }) : committed.reason;
  if (result.status === 'rejected') throw result.reason;
  return result.value;
};

/**
 * Runs the work in a transaction, all or nothing.
 * @param begun  called when PostgreSQL has answered its opening
 */
export const transact = async <T>(
  client: pg.PoolClient,
  scope: Scope,
  work: Work<T>,
  begun: () => void,
): Promise<T> => {
  const opening = entering(client, 'begin', scope).then(begun);
  opening.catch(() => undefined);
  return finish(client, await entered(opening, work(client)));
};

const holding = new AsyncLocalStorage<HeldTransaction>();

/** The transaction held open for the current work, if any. */
export const heldTransaction = (): HeldTransaction | undefined => holding.getStore();

/**
 * A transaction shared by several pieces of work, all or nothing together. Each piece has a savepoint: a failed piece leaves the
 * others intact, and code that catches its error can read on. One piece runs at a time.
 */
export class HeldTransaction {
  private before: Promise<unknown> = Promise.resolve();

  /** @param entered  the settings currently applied, restored after each piece */
  private constructor(
    private readonly client: pg.PoolClient,
    private readonly entered?: string,
  ) {}

  /** Runs the work so that its pieces join the transaction. @param scope  in which it was opened */
  static over<T>(client: pg.PoolClient, work: () => T, scope?: Scope): T {
    return HeldTransaction.on(client, work, scope && settingsKey(scope));
  }

  private static on<T>(client: pg.PoolClient, work: () => T, entered?: string): T {
    return holding.run(new HeldTransaction(client, entered), work);
  }

  /** A piece that writes, in its scope. */
  write<T>(scope: Scope, work: Work<T>): Promise<T> {
    const key = settingsKey(scope);
    const begin = 'savepoint piece; set constraints all deferred';
    return this.piece(async (client) => {
      const opening = this.entered === key ? client.query(begin) : entering(client, begin, scope);
      opening.catch(() => undefined); // reported when the work fails
      try {
        const { sent } = await sendLast(await entered(opening, work(client)));
        // all are awaited: PostgreSQL refuses what follows a failed statement, which may be heard of first
        const [result, ...after] = await Promise.allSettled([
          sent,
          client.query(HOLD_RULES),
          client.query('release savepoint piece'),
        ]);
        for (const each of [result, ...after]) if (each.status === 'rejected') throw each.reason;
        return await sent;
      } catch (error) {
        await takeBack(client);
        throw error;
      }
    }, key);
  }

  /** A piece that reads; its settings are rolled back. */
  read<T>(work: (client: pg.PoolClient) => Promise<T>): Promise<T> {
    return this.piece(async (client) => {
      try {
        client.query('savepoint piece').catch(() => undefined); // the next statement fails as well
        return await work(client);
      } finally {
        await takeBack(client);
      }
    });
  }

  private piece<T>(work: (client: pg.PoolClient) => Promise<T>, entered?: string): Promise<T> {
    const done = this.before.then(() => HeldTransaction.on(this.client, () => work(this.client), entered));
    this.before = done.catch(() => undefined);
    return done;
  }
}

/**
 * If the connection has broken, the work's own error reports it. The savepoint is released, because a piece around this one has a
 * savepoint of the same name and must be able to return to it.
 */
const takeBack = (client: pg.PoolClient): Promise<unknown> =>
  client.query('rollback to savepoint piece; release savepoint piece').catch(() => undefined);
