import type { Readable } from 'node:stream';
import type { CallHandler } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { lastValueFrom } from 'rxjs';
import type { Database } from '../../database/database.js';
import { JsonText } from '../../database/json-rows.js';
import { inScope, type Scope, scope } from '../../database/scope.js';
import { SharedReading } from '../../database/shared-reading.js';
import type { WholeList } from '../../database/listed.js';
import { CopiedRows } from '../../database/copied-rows.js';
import { type Entries, entriesOf, type Form, type Lines } from './forms.js';
import type { ListOf } from './list-of.js';
import { type ColumnType, linesOf, typesOf } from './sql-lines.js';

/** Entries read at a time. */
const PAGE = 1000;

/** Interval of the statements that keep a transaction alive for a slow reader: PostgreSQL terminates one idle for 15 s. [ms] */
const AWAKE_MS = 5000;

/** PostgreSQL sends 8 KB at a time, and the next step costs as much for those as for this many. [bytes] */
const JOINED = 128 * 1024;

type Page = Record<string, unknown>;

/** The pieces joined to fewer ones; the first is not kept waiting. */
async function* joined(first: Buffer, pieces: AsyncIterator<Buffer>): AsyncGenerator<Buffer, void> {
  yield first;
  let waiting: Buffer[] = [];
  let length = 0;
  for (let piece = await pieces.next(); !piece.done; piece = await pieces.next()) {
    waiting.push(piece.value);
    length += piece.value.length;
    if (length < JOINED) continue;
    yield Buffer.concat(waiting, length);
    [waiting, length] = [[], 0];
  }
  yield Buffer.concat(waiting, length);
}

/** The lines of the complete rows in a chunk sent by COPY. */
const linesIn = (rows: CopiedRows, piece: Buffer, head: Entries['head']): Lines => {
  const lines = Buffer.allocUnsafe(rows.mostBytes(piece));
  let [length, count] = [0, 0];
  for (const { bytes, starts, lengths } of rows.rows(piece)) {
    const start = starts[0] as number;
    length += bytes.copy(lines, length, start, start + (lengths[0] as number));
    count += 1;
  }
  return { bytes: lines.subarray(0, length), count, head };
};

/** The value of an answer, whether already written as JSON or not. */
export const valueOf = (answer: unknown): unknown => (answer instanceof JsonText ? answer.value() : answer);

/**
 * All entries of a paged list in one state of the record: one transaction reads them all, page by page, and the next page is read
 * while the last one is written. Where rows are answered as read, PostgreSQL writes the lines itself, by COPY. Must be ended,
 * also when it is abandoned.
 */
export class Walk {
  private readonly current: Scope;
  private readonly readings: SharedReading;
  private readonly timer: NodeJS.Timeout;
  private coming: Promise<Page> | undefined;
  /** The lines, where PostgreSQL writes them, and the page's fields beside them. */
  private lines:
    { copy: Readable; pieces: AsyncIterator<Buffer>; first: Buffer; head: Entries['head'] } | undefined;

  constructor(
    /** undefined: entries are wanted, not lines */
    private readonly form: Form | undefined,
    private readonly list: ListOf,
    private readonly request: FastifyRequest,
    private readonly next: CallHandler,
    private readonly database: Database,
  ) {
    const { load = { cost: 0 }, ...own } = scope();
    this.readings = new SharedReading({ ...load, cost: Math.max(1, load.cost) }); // it holds a connection until its reader is done
    this.current = { ...own, load, readings: this.readings };
    this.timer = setInterval(() => void this.stayAwake(), AWAKE_MS).unref();
  }

  /** Reads the first page. If that fails, the request fails. */
  async begin(): Promise<void> {
    try {
      let whole: WholeList | undefined;
      const take = (list: WholeList): boolean => {
        if (whole) return false;
        whole = list;
        return true;
      };
      const listing = this.form && { take };
      let first = await this.page(undefined, { ...this.current, listing });
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

  /** Starts COPY and waits for the first lines. @returns false when PostgreSQL cannot write them */
  private async readLines(list: WholeList, head: Entries['head']): Promise<boolean> {
    const types = await this.read<ColumnType>(typesOf(list));
    const sql = this.form && linesOf(this.form, this.list, list, types, head);
    if (sql === undefined) return false;
    clearInterval(this.timer); // from now on PostgreSQL waits for its reader
    const copy = await inScope(this.current, () => this.database.copied(sql));
    const pieces = copy[Symbol.asyncIterator]() as AsyncIterator<Buffer>;
    const first = await pieces.next();
    this.lines = { copy, pieces, first: first.value as Buffer, head };
    return true;
  }

  private async *written({
    pieces,
    first,
    head,
  }: NonNullable<typeof this.lines>): AsyncGenerator<Lines, void> {
    const rows = new CopiedRows(1);
    for await (const piece of joined(first, pieces)) yield linesIn(rows, piece, head);
    await this.end();
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
    this.lines?.copy.destroy();
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
