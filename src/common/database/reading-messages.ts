import pg from 'pg';
import { assertPast, BEGIN_READING, choosing, settingScope, type Stand } from './reading-settings.js';
import type { Moment, Scope } from './scope.js';
import type { StatementLimits } from './session.js';
import { isBroken } from './sql-error.js';
import { statementName } from './transaction.js';

/** A statement that somebody waits for. */
export interface Asked {
  scope: Scope;
  sql: string;
  values: unknown[];
  /** Answers it otherwise than as a statement with rows, with the connection to itself. */
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

/** A parameter as PostgreSQL reads it in SQL; its type is that of the place where it stands. */
export const literal = (value: unknown): string =>
  value == null ? 'null' : pg.escapeLiteral(parameterText(value));

/** The statements that each connection has prepared here. */
const prepared = new WeakMap<pg.PoolClient, Set<string>>();

/** Other names than the driver's, which prepares for itself. */
const nameOf = (sql: string): string => `r${statementName({ sql })}`;

const SAVEPOINT = 'savepoint reading';

const momentKey = (projectId: number, { instant }: Moment): string => `${projectId} ${instant}`;

/**
 * One transaction of readings over one connection, many statements a message, each in its own scope. A statement that
 * fails leaves the others: they are then sent again one by one, on the same state of the record.
 */
export class ReadingMessages {
  private isOpen = false;
  /** The scope that the connection is set to, as it was set. */
  private set = '';
  private readonly stands = new Map<string, Stand | Error>();

  constructor(
    private readonly client: pg.PoolClient,
    private readonly limits?: StatementLimits,
    private readonly gone?: AbortSignal,
  ) {}

  /** @throws Error when the connection broke or the sender has gone: who has no answer yet is to be refused */
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

  /** One message, and the place of each answer among its results. */
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

  /** The connection broke, or what was at work was cancelled as nobody waits for it. */
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

  /** @param failure  thrown when there is nothing to go back to */
  private async takeBack(failure: unknown): Promise<void> {
    try {
      await this.client.query('rollback to savepoint reading');
    } catch {
      throw failure;
    }
    this.isOpen = true;
  }

  /** What was prepared before a message failed stays prepared: PostgreSQL knows what. */
  private async forgetPrepared(): Promise<void> {
    const { rows } = await this.client.query<{ name: string }>('select name from pg_prepared_statements');
    prepared.set(this.client, new Set(rows.map(({ name }) => name)));
  }

  /** Without a name, as the plan kept by it may be what failed. */
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
   * Finds the changes of moments in its own transaction, which waits for a change that is being made and then sees it.
   * What was open ends with it: moments are named at the top of a query, so that is before anything else was read.
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
