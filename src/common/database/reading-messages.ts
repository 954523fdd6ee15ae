import pg from 'pg';
import { assertPast, BEGIN_READING, choosing, settingScope, type Stand } from './reading-settings.js';
import type { Moment, Scope } from './scope.js';
import type { StatementLimits } from './session.js';
import { isBroken } from './sql-error.js';
import { statementName } from './transaction.js';

/** A statement that a caller is waiting for. */
export interface Asked {
  scope: Scope;
  sql: string;
  values: unknown[];
  /** Runs it in another way than as a statement with rows, with exclusive use of the connection. */
  run?(client: pg.PoolClient): Promise<pg.QueryResult>;
  resolve(result: pg.QueryResult): void;
  reject(error: unknown): void;
}

type Results = pg.QueryResult<object>[];

const elementText = (value: unknown): string =>
  value == null ? 'NULL' : `"${String(value).replace(/[\\"]/g, '\\$&')}"`;

const parameterText = (value: unknown): string => {
  if (Array.isArray(value)) return `{${value.map(elementText).join()}}`;
  if (value instanceof Date) return value.toISOString();
  return typeof value === 'object' ? JSON.stringify(value) : String(value);
};

/** A parameter as an SQL literal; PostgreSQL infers its type from the context. */
export const literal = (value: unknown): string =>
  value == null ? 'null' : pg.escapeLiteral(parameterText(value));

/** The statements prepared here on each connection. */
const prepared = new WeakMap<pg.PoolClient, Set<string>>();

/** Names distinct from the driver's, which prepares statements too. */
const nameOf = (sql: string): string => `r${statementName({ sql })}`;

const SAVEPOINT = 'savepoint reading';

const momentKey = (projectId: number, { instant }: Moment): string => `${projectId} ${instant}`;

/**
 * One transaction of readings on one connection: several statements per message, each in its own scope. If a statement fails, the
 * others are sent again one by one, on the same state of the record.
 */
export class ReadingMessages {
  private isOpen = false;
  /** The scope currently set on the connection. */
  private set = '';
  private readonly stands = new Map<string, Stand | Error>();

  constructor(
    private readonly client: pg.PoolClient,
    private readonly limits?: StatementLimits,
    private readonly gone?: AbortSignal,
  ) {}

  /** @throws Error when the connection broke or the sender disconnected: callers still without an answer must be refused */
  async answer(batch: Asked[]): Promise<void> {
    await this.chooseStands(batch);
    const sound = batch.filter(({ scope }) => !(this.standOf(scope) instanceof Error));
    const together = sound.filter(({ run }) => !run);
    if (together.length > 0) await this.send(together);
    await this.sendOneByOne(sound.filter(({ run }) => run));
    for (const { scope, reject } of batch) {
      const stand = this.standOf(scope);
      if (stand instanceof Error) reject(stand);
    }
  }

  private async send(batch: Asked[]): Promise<void> {
    const { parts, places } = this.compose(batch);
    let results: Results;
    try {
      results = (await this.client.query(parts.join(';\n'))) as unknown as Results;
    } catch (error) {
      this.set = '';
      if (this.isEnd(error)) throw error;
      await this.takeBack(error);
      await this.forgetPrepared();
      return this.sendOneByOne(batch);
    }
    this.isOpen = true;
    batch.forEach(({ resolve }, index) => resolve(results[places[index] ?? 0] as pg.QueryResult));
  }

  /** One message, and the index of each answer among its results. */
  private compose(batch: Asked[]): { parts: string[]; places: number[] } {
    const known = prepared.get(this.client) ?? new Set<string>();
    prepared.set(this.client, known);
    const parts = [...this.opening()];
    const places: number[] = [];
    for (const { scope, sql, values } of batch) {
      const setting = this.setting(scope);
      if (setting !== this.set) parts.push(setting);
      this.set = setting;
      if (values.length === 0) {
        places.push(parts.push(sql) - 1);
        continue;
      }
      const name = nameOf(sql);
      if (!known.has(name)) parts.push(`prepare "${name}" as ${sql}`);
      known.add(name);
      places.push(parts.push(`execute "${name}"(${values.map(literal).join()})`) - 1);
    }
    return { parts, places };
  }

  /** Whether the connection broke, or the work was cancelled because nobody is waiting for it. */
  private isEnd(error: unknown): boolean {
    return isBroken(error) || this.gone?.aborted === true;
  }

  private opening(): string[] {
    return this.isOpen ? ['release savepoint reading', SAVEPOINT] : [BEGIN_READING.present, SAVEPOINT];
  }

  private setting(scope: Scope): string {
    const stand = this.standOf(scope);
    return settingScope(scope, this.limits, stand instanceof Error ? undefined : stand);
  }

  /** @param failure  thrown when there is no savepoint to roll back to */
  private async takeBack(failure: unknown): Promise<void> {
    try {
      await this.client.query('rollback to savepoint reading');
    } catch {
      throw failure;
    }
    this.isOpen = true;
  }

  /** Statements prepared before a message failed stay prepared, and only PostgreSQL knows which. */
  private async forgetPrepared(): Promise<void> {
    const { rows } = await this.client.query<{ name: string }>('select name from pg_prepared_statements');
    prepared.set(this.client, new Set(rows.map(({ name }) => name)));
  }

  /** Unnamed statements, as the cached plan may be what failed. */
  private async sendOneByOne(batch: Asked[]): Promise<void> {
    for (const { scope, sql, values, run, resolve, reject } of batch) {
      try {
        this.set = '';
        await this.client.query([...this.opening(), this.setting(scope)].join('; '));
        this.isOpen = true;
        resolve(await (run ? run(this.client) : this.client.query({ text: sql, values })));
      } catch (error) {
        if (this.isEnd(error)) throw error;
        await this.takeBack(error);
        reject(error);
      }
    }
  }

  private standOf({ projectId, asOf }: Scope): Stand | Error | undefined {
    if (!asOf) return undefined;
    return 'change' in asOf ? asOf : this.stands.get(momentKey(projectId, asOf));
  }

  /**
   * Finds the changes for moments in a separate transaction, which waits for a change in progress and then sees it. This ends any
   * open transaction; since moments are given at the top of a query, nothing has been read before.
   */
  private async chooseStands(batch: Asked[]): Promise<void> {
    const unknown = new Map<string, { scope: Scope; asOf: Moment }>();
    for (const { scope } of batch) {
      const { projectId, asOf } = scope;
      if (!asOf || 'change' in asOf) continue;
      const key = momentKey(projectId, asOf);
      if (!this.stands.has(key)) unknown.set(key, { scope, asOf });
    }
    if (unknown.size === 0) return;
    const parts = [...(this.isOpen ? ['commit'] : []), BEGIN_READING.asOf];
    this.isOpen = false;
    this.set = '';
    const places = [...unknown].map(([key, { scope, asOf }]) => ({
      key,
      scope,
      asOf,
      place: parts.push(settingScope(scope, this.limits), choosing(scope.projectId, asOf)) - 1,
    }));
    parts.push('commit');
    const results = (await this.client.query(parts.join('; '))) as unknown as Results;
    for (const { key, scope, asOf, place } of places) {
      const found = results[place] as pg.QueryResult<{ change: string }>;
      try {
        assertPast(scope, [found]);
        this.stands.set(key, { change: Number(found.rows[0]?.change), instant: asOf.instant });
      } catch (error) {
        this.stands.set(key, error as Error);
      }
    }
  }
}
