import type { CallHandler } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { lastValueFrom } from 'rxjs';
import type { Database } from '../../database/database.js';
import { JsonText } from '../../database/json-rows.js';
import { inScope, type Scope, scope } from '../../database/scope.js';
import { SharedReading } from '../../database/shared-reading.js';
import type { WholeList } from '../../database/listed.js';
import { type Entries, entriesOf, type Form, type Lines } from './forms.js';
import type { ListOf } from './list-of.js';
import { type ColumnType, linesOf, typesOf } from './sql-lines.js';

/** Entries read at a time. */
const PAGE = 1000;

/** Lines that PostgreSQL writes, read at a time; few at first, so that the answer begins. */
const FIRST_LINES = 200;
const LINES = 2000;

/** Interval of the statements that keep a transaction alive for a slow reader: PostgreSQL ends one that is idle for 15 s. [ms] */
const AWAKE_MS = 5000;

type Page = Record<string, unknown>;

/** What an answer says, written as JSON already or not. */
export const valueOf = (answer: unknown): unknown => (answer instanceof JsonText ? answer.value() : answer);

/**
 * All entries of a list that comes in pages, of one state of the record: one transaction reads them all, page by page, and the
 * next page is read while the last one is written. Of a list whose rows are answered as they are read PostgreSQL writes the
 * lines itself, from one cursor. Must be ended, also when it is abandoned.
 */
export class Walk {
  private readonly current: Scope;
  private readonly readings: SharedReading;
  private readonly timer: NodeJS.Timeout;
  private coming: Promise<Page> | undefined;
  /** The lines, where PostgreSQL writes them, and what stands beside them. */
  private lines: { coming: Promise<string[]>; head: Entries['head'] } | undefined;

  constructor(
    private readonly form: Form,
    private readonly list: ListOf,
    private readonly request: FastifyRequest,
    private readonly next: CallHandler,
    private readonly database: Database,
  ) {
    const { load = { cost: 0 }, ...own } = scope();
    this.readings = new SharedReading({ ...load, cost: Math.max(1, load.cost) }); // holds a connection until its reader is done
    this.current = { ...own, load, readings: this.readings };
    this.timer = setInterval(() => void this.stayAwake(), AWAKE_MS).unref();
  }

  /** The first page. Its failure is that of the request. */
  async begin(): Promise<void> {
    try {
      let whole: WholeList | undefined;
      const take = (list: WholeList): boolean => {
        if (whole) return false;
        whole = list;
        return true;
      };
      let first = await this.page(undefined, { ...this.current, listing: { take } });
      if (whole && !(await this.readLines(whole, entriesOf(this.list, first).head)))
        first = await this.page(undefined);
      if (!this.lines) this.coming = Promise.resolve(first);
    } catch (error) {
      await this.end();
      throw error;
    }
  }

  async *parts(): AsyncGenerator<Entries | Lines, void> {
    if (this.lines) yield* this.written(this.lines);
    else yield* this.entries();
  }

  /** Opens the cursor and waits for its first lines. @returns false when PostgreSQL cannot write them */
  private async readLines(list: WholeList, head: Entries['head']): Promise<boolean> {
    const types = await this.read<ColumnType>(typesOf(list));
    const sql = linesOf(this.form, this.list, list, types, head);
    if (sql === undefined) return false;
    await this.read(`declare list no scroll cursor for ${sql}`);
    this.lines = { coming: Promise.resolve(await this.fetch(FIRST_LINES)), head };
    return true;
  }

  private async *written(lines: NonNullable<typeof this.lines>): AsyncGenerator<Lines, void> {
    for (let most = FIRST_LINES; ; most = LINES) {
      const rows = await lines.coming;
      const isLast = rows.length < most;
      if (isLast) await this.end();
      else {
        lines.coming = this.fetch(LINES);
        lines.coming.catch(() => undefined); // the reader has gone
      }
      yield { text: rows.join(''), count: rows.length, head: lines.head };
      if (isLast) return;
    }
  }

  private async fetch(count: number): Promise<string[]> {
    return (await this.read<{ line: string }>(`fetch ${count} from list`)).map(({ line }) => line);
  }

  private read<T>(sql: string): Promise<T[]> {
    return inScope(this.current, () =>
      this.database.reading((statements) => statements.$queryRawUnsafe<T[]>(sql)),
    );
  }

  private async *entries(): AsyncGenerator<Entries, void> {
    while (this.coming) {
      const page = await this.coming;
      const after = page['next'];
      if (after == null) {
        this.coming = undefined;
        await this.end();
      } else {
        this.coming = this.page(after as string | number);
        this.coming.catch(() => undefined); // the reader has gone
      }
      yield entriesOf(this.list, page);
    }
  }

  end(): Promise<void> {
    clearInterval(this.timer);
    return this.readings.end();
  }

  private page(after: string | number | undefined, current = this.current): Promise<Page> {
    const query = this.request.query as Record<string, unknown>;
    this.request.query = {
      ...query,
      first: String(PAGE),
      ...(after === undefined ? {} : { after: String(after) }),
    };
    return inScope(current, async () => valueOf(await lastValueFrom(this.next.handle())) as Page);
  }

  private async stayAwake(): Promise<void> {
    await inScope(this.current, () => this.database.read('select 1')).catch(() => undefined);
  }
}
