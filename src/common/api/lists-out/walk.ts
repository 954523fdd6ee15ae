import type { CallHandler } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { lastValueFrom } from 'rxjs';
import type { Database } from '../../database/database.js';
import { JsonText } from '../../database/json-rows.js';
import { inScope, type Scope, scope } from '../../database/scope.js';
import { SharedReading } from '../../database/shared-reading.js';
import { type Entries, entriesOf } from './forms.js';
import type { ListOf } from './list-of.js';

/** Entries read at a time. */
const PAGE = 1000;

/** Interval of the statements that keep a transaction alive for a slow reader: PostgreSQL ends one that is idle for 15 s. [ms] */
const AWAKE_MS = 5000;

type Page = Record<string, unknown>;

/** What an answer says, written as JSON already or not. */
export const valueOf = (answer: unknown): unknown => (answer instanceof JsonText ? answer.value() : answer);

/**
 * All entries of a list that comes in pages, page by page of one state of the record: one transaction reads them all, and the
 * next page is read while the last one is written. Must be ended, also when it is abandoned.
 */
export class Walk {
  private readonly current: Scope;
  private readonly readings: SharedReading;
  private readonly timer: NodeJS.Timeout;
  private coming: Promise<Page> | undefined;

  constructor(
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
      const first = await this.page(undefined);
      this.coming = Promise.resolve(first);
    } catch (error) {
      await this.end();
      throw error;
    }
  }

  async *entries(): AsyncGenerator<Entries, void> {
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

  private page(after: string | number | undefined): Promise<Page> {
    const query = this.request.query as Record<string, unknown>;
    this.request.query = {
      ...query,
      first: String(PAGE),
      ...(after === undefined ? {} : { after: String(after) }),
    };
    return inScope(this.current, async () => valueOf(await lastValueFrom(this.next.handle())) as Page);
  }

  private async stayAwake(): Promise<void> {
    await inScope(this.current, () => this.database.read('select 1')).catch(() => undefined);
  }
}
