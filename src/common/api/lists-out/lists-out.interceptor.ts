import { Readable } from 'node:stream';
import { setImmediate } from 'node:timers/promises';
import {
  type CallHandler,
  type ExecutionContext,
  Injectable,
  type NestInterceptor,
  StreamableFile,
} from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { lastValueFrom, type Observable, of } from 'rxjs';
import { signalOf } from '../../auth/gone.js';
import { Database } from '../../database/database.js';
import { JsonRows } from '../../database/json-rows.js';
import { CSV } from '../../files/csv.js';
import { XLSX } from '../../files/xlsx.js';
import { Papers } from '../../work/papers.js';
import { acceptOf, notAcceptable, preferred } from '../acceptable.js';
import { JSON_TYPE } from '../content-types.js';
import { EVENT_STREAM } from '../event-stream.js';
import { setFileHeaders } from '../file-answer.js';
import { PIECE } from '../in-pieces.js';
import { linkNext } from '../paging.interceptor.js';
import { CONTENT_TYPE, type Entries, entriesOf, type Form, FORMS, type Lines, writerOf } from './forms.js';
import { type ListOf, listRead } from './list-of.js';
import { endWithTrailers } from './trailer.js';
import { valueOf, Walk } from './walk.js';
import { sheetOf, WORKBOOK } from './workbook.js';

/** Time without any data accepted by the reader before the answer is cut off. [ms] */
const STALL_MS = 30_000;

const OFFERED = [JSON_TYPE, ...FORMS, XLSX];
const TAKEN = [...OFFERED, EVENT_STREAM];

/** Entries written per turn of the event loop. */
const AT_ONCE = 250;

const isForm = (type: string): type is Form => (FORMS as readonly string[]).includes(type);

/** What of a list is answered, and how its reading ends before that. */
interface Read {
  parts: AsyncIterable<Entries | Lines> | Iterable<Entries>;
  end?(): Promise<void>;
}

/** The last name in the address of a route: days of support-quantities/days. */
const nameOf = ({ routeOptions }: FastifyRequest): string =>
  routeOptions.url?.split('/').findLast((part) => /^[\w-]+$/.test(part)) ?? 'list';

/**
 * Answers every list as JSON, as lines of JSON, as CSV or as a workbook, as `format` says or Accept prefers. A list that is
 * paged in JSON is answered whole in the other formats, unless `first` asks for a page.
 */
@Injectable()
export class ListsOutInterceptor implements NestInterceptor {
  constructor(
    private readonly database: Database,
    private readonly papers: Papers,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    if (context.getType() !== 'http') return next.handle();
    const request = context.switchToHttp().getRequest<FastifyRequest>();
    const list = listRead(context.getHandler(), request.method);
    if (!list) return next.handle();
    const form = preferred(acceptOf(request), TAKEN);
    if (form === undefined) throw notAcceptable(OFFERED.join(' or '));
    if (form !== XLSX && !isForm(form)) return next.handle();
    const reply = context.switchToHttp().getResponse<FastifyReply>();
    if (form === XLSX) return of(await this.workbook(list, request, reply, next));
    return of(streamed(form, list, reply, await this.read(form, list, request, reply, next)));
  }

  /** @param form  in which PostgreSQL may write the lines; undefined: all parts are entries */
  private async read(
    form: Form | undefined,
    list: ListOf,
    request: FastifyRequest,
    reply: FastifyReply,
    next: CallHandler,
  ): Promise<Read> {
    const isWhole =
      list.head === undefined ||
      request.method === 'HEAD' ||
      (request.query as { first?: string }).first !== undefined;
    if (!isWhole) {
      const walk = new Walk(form, list, request, next, this.database);
      await walk.begin();
      return { parts: walk.parts(), end: () => walk.end() };
    }
    const answer: unknown = await lastValueFrom(next.handle());
    if (list.head === undefined) return { parts: groupsOf(answer) };
    const page = valueOf(answer) as Record<string, unknown>;
    if (page['next'] != null) linkNext(request, reply, page['next'] as string | number);
    return { parts: [entriesOf(list, page)] };
  }

  private async workbook(
    list: ListOf,
    request: FastifyRequest,
    reply: FastifyReply,
    next: CallHandler,
  ): Promise<StreamableFile> {
    const name = nameOf(request);
    const { sheet, add } = sheetOf(name, list);
    const { parts, end } = await this.read(undefined, list, request, reply, next);
    try {
      for await (const part of parts)
        for (const some of inTurns(part)) {
          if ('entries' in some) add(some);
          await setImmediate();
        }
    } finally {
      await end?.();
    }
    const workbook = await this.papers.draw(WORKBOOK, sheet, signalOf(reply.raw));
    setFileHeaders(reply, XLSX, `${name}.xlsx`);
    return new StreamableFile(workbook, { type: XLSX });
  }
}

/** A list that is answered whole. Entries that PostgreSQL wrote as JSON are parsed in groups. */
async function* groupsOf(answer: unknown): AsyncGenerator<Entries, void> {
  if (!(answer instanceof JsonRows)) yield { entries: valueOf(answer) as unknown[], head: {} };
  else for await (const entries of answer.groups()) yield { entries, head: {} };
}

function* inTurns(part: Entries | Lines): Generator<Entries | Lines, void> {
  if ('bytes' in part) {
    yield part;
    return;
  }
  const { entries, head } = part;
  for (let at = 0; at === 0 || at < entries.length; at += AT_ONCE)
    yield { entries: entries.slice(at, at + AT_ONCE), head };
}

/** The text of a list as it is read. A reader that accepts no data for too long is disconnected, because it holds a reading. */
const streamed = (
  form: Form,
  list: ListOf,
  reply: FastifyReply,
  { parts, end = () => Promise.resolve() }: Read,
): StreamableFile => {
  const writer = writerOf(form, list);
  const gone = signalOf(reply.raw);
  let count = 0;
  let stall: NodeJS.Timeout | undefined;
  async function* text(): AsyncGenerator<Buffer, void> {
    try {
      for await (const part of parts)
        for (const some of inTurns(part)) {
          count += 'bytes' in some ? some.count : some.entries.length;
          yield* pieces('bytes' in some ? writer.add(some) : writer.write(some));
          await setImmediate();
          if (gone.aborted) return;
        }
      yield* pieces(writer.end(count));
    } finally {
      clearTimeout(stall);
      await end();
    }
  }
  function* pieces(whole: string | Buffer): Generator<Buffer, void> {
    const bytes = typeof whole === 'string' ? Buffer.from(whole) : whole;
    for (let at = 0; at < bytes.length; at += PIECE) {
      stall = setTimeout(() => reply.raw.destroy(), STALL_MS);
      yield bytes.subarray(at, at + PIECE);
      clearTimeout(stall);
    }
  }
  if (form === CSV) endWithTrailers(reply, () => count);
  const stream = Readable.from(text(), { objectMode: false });
  gone.addEventListener('abort', () => {
    stream.destroy();
    void end();
  });
  return new StreamableFile(stream, { type: CONTENT_TYPE[form] });
};
