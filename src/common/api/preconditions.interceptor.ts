import { createHash } from 'node:crypto';
import {
  type CallHandler,
  type ExecutionContext,
  Injectable,
  type NestInterceptor,
  StreamableFile,
} from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { lastValueFrom, type Observable, of } from 'rxjs';
import { Database, type Send } from '../database/database.js';
import { answerText, JsonText } from '../database/json-rows.js';
import { HOLD_HISTORY } from '../database/history-lock.js';
import { dropDescription } from './description.js';
import { assertGivenBack, takeGivenBack } from './given-back.js';
import { createdKey, locate } from './location.js';
import { type Conditions, conditionsOf, failedPrecondition, isKnown } from './precondition.js';
import { ProblemError } from './problem.js';
import type { Class } from './properties.js';
import { type Resource, type ResourceRead, Resources } from './resources.js';
import { Undrawn } from './undrawn.js';
import { toProblemError } from './to-problem.js';
import { whole } from './whole.js';

/** Serialises writers of a drive by its row, and those of a project by its history. Locked in that order, as by every write. */
const LOCK_DRIVE = 'select from drive where code = $1 and project_id = scope_project() for no key update';

/** A write to machine data updates the values of the strokes that its drives have bored: it locks these drives in one fixed order. */
const LOCK_DRIVES_OF = `select from drive where machine_id = (select id from machine where code = $1 and project_id = scope_project())
  order by id for no key update`;

/** The strong entity tag of an answer, from its bytes. */
const tagOf = (text: string | Uint8Array): string =>
  `"${createHash('sha256').update(text).digest('base64url')}"`;

/** The write would leave the record unchanged: it is rolled back and answered as carried out. */
class DoneAlready extends Error {
  constructor(readonly text: string) {
    super('as it stands');
  }
}

/**
 * Entity tags and preconditions for every single resource (RFC 9110, section 13), based on the answer of its GET. A conditional
 * write is checked in the transaction that writes, after all other writers of the project. Routes that read If-Match themselves
 * are left to do so; If-None-Match is checked here for all, except the `*` of their PUT.
 */
@Injectable()
export class PreconditionsInterceptor implements NestInterceptor {
  constructor(
    private readonly resources: Resources,
    private readonly database: Database,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    if (context.getType() !== 'http') return next.handle();
    const request = context.switchToHttp().getRequest<FastifyRequest>();
    const reply = context.switchToHttp().getResponse<FastifyReply>();
    const { method } = request;
    const resource = this.resources.of(context, request);
    const keyOf = createdKey(context.getHandler());
    if (keyOf) {
      const made: unknown = await lastValueFrom(next.handle());
      locate(reply, request, keyOf(made as never));
      return of(made);
    }
    if (method === 'GET' || method === 'HEAD') {
      const answer: unknown = await lastValueFrom(next.handle());
      return of(resource || isFile(answer) ? await answered(answer, request, reply) : answer);
    }
    if (!resource) return next.handle();
    const answer = await this.written(resource, request, reply, next);
    if (method === 'PUT' && reply.statusCode === 201) locate(reply, request);
    return of(answer);
  }

  private async written(
    resource: Resource,
    request: FastifyRequest,
    reply: FastifyReply,
    next: CallHandler,
  ): Promise<unknown> {
    const { reading, isNative, saysStatus, input } = resource;
    const isPut = request.method === 'PUT';
    const conditions = isNative ? leftBy(conditionsOf(request), isPut) : conditionsOf(request);
    const isConditional = conditions.ifMatch !== undefined || conditions.ifNoneMatch !== undefined;
    const given = input && reading.answer ? takeGivenBack(request.body, input, reading.answer) : [];
    const isLeftAlone = !isConditional && given.length === 0 && (isNative || !isPut);
    if (isLeftAlone)
      return lastValueFrom(next.handle(), NOTHING).catch((error: unknown) =>
        this.refuseStale(resource, request, error),
      );
    const read = await this.resources.prepared(reading, request);
    const status = reply.statusCode;
    const work = async (send: Send): Promise<() => Promise<unknown>> => {
      void reply.status(status).removeHeader('etag'); // set by an attempt that lost a race
      let standing: Standing | undefined;
      let stale: ProblemError | undefined;
      if (isConditional || !saysStatus || given.length > 0) {
        await lockWriters(send, request.params as { drive?: string; machine?: string });
        standing = await standingOf(read, reading.answer);
        // A missing resource is reported as not found, whatever the condition (section 13.2.1).
        const failed = standing || isPut ? failedPrecondition(conditions, standing?.tag) : undefined;
        if (failed && !(isPut && standing && failed.isStale)) throw failed.error;
        stale = failed?.error;
      }
      const answer: unknown = await lastValueFrom(next.handle(), NOTHING).catch((error: unknown) => {
        throw stale && toProblemError(error).status < 500 ? stale : error;
      });
      if (!isPut) return () => Promise.resolve(answer);
      const text = answerText(answer);
      if (stale && text !== standing?.text) throw stale;
      if (given.length > 0)
        assertGivenBack(given, [...(standing ? [standing.answer] : []), JSON.parse(text) as unknown]);
      if (!saysStatus && !standing) void reply.status(201);
      // A PUT answers the same as GET, so one reading serves both, and the tag is of the bytes sent.
      if (!reply.hasHeader('etag')) void reply.header('etag', tagOf(text));
      if (stale) throw new DoneAlready(text);
      return () => Promise.resolve(new JsonText(text));
    };
    return this.database.held(work).catch((error: unknown) => {
      if (error instanceof DoneAlready) return new JsonText(error.text);
      return this.refuseStale(resource, request, error);
    });
  }

  /**
   * Content is validated after the precondition (RFC 9110, section 13.2.1). A route that checks its precondition itself has
   * validated the body first: if its precondition fails too, the answer is that failure.
   */
  private async refuseStale(
    { reading, isNative }: Resource,
    request: FastifyRequest,
    refused: unknown,
  ): Promise<never> {
    const conditions = conditionsOf(request);
    const isConditional = conditions.ifMatch !== undefined || conditions.ifNoneMatch !== undefined;
    if (!isNative || !isConditional || toProblemError(refused).status !== UNPROCESSABLE) throw refused;
    const standing = await standingOf(await this.resources.prepared(reading, request), reading.answer);
    const isFound = standing !== undefined || request.method === 'PUT';
    throw (isFound && failedPrecondition(conditions, standing?.tag)?.error) || refused;
  }
}

/** Status of a body that breaks a rule. */
const UNPROCESSABLE = 422;

/** The conditions left to check for a route that handles If-Match itself, and creation only on request. */
const leftBy = ({ ifNoneMatch }: Conditions, isPut: boolean): Conditions =>
  isPut && ifNoneMatch?.trim() === '*' ? {} : { ifNoneMatch };

interface Standing {
  tag: string;
  text: string;
  answer: unknown;
}

/** The current answer of a resource, with its tag; undefined: it does not exist. */
const standingOf = async (
  read: () => Promise<ResourceRead>,
  type: Class | undefined,
): Promise<Standing | undefined> => {
  try {
    const { answer, etag } = await read();
    const text = answerText(type ? whole(answer, type) : answer);
    return { tag: etag ?? tagOf(text), text, answer: JSON.parse(text) as unknown };
  } catch (error) {
    if (error instanceof ProblemError && error.code === 'not_found') return undefined;
    throw error;
  }
};

const NOTHING = { defaultValue: undefined };

/** Keeps other writers of the drive (or of the machine's drives) and of the project out until the transaction ends. */
export const lockWriters = async (
  send: Send,
  { drive, machine }: { drive?: string; machine?: string },
): Promise<void> => {
  if (drive !== undefined) await send(LOCK_DRIVE, drive);
  if (machine !== undefined) await send(LOCK_DRIVES_OF, machine);
  await send(HOLD_HISTORY);
};

/** The answer of a GET with its tag; 304 without a body if the client already has it. */
const answered = async (answer: unknown, request: FastifyRequest, reply: FastifyReply): Promise<unknown> => {
  if (answer instanceof StreamableFile || reply.statusCode !== 200) return answer;
  const content = isFile(answer) ? answer : new JsonText(answerText(answer));
  const tag = String(
    reply.getHeader('etag') ?? (content instanceof Undrawn ? content.tag : tagOf(bytesOf(content))),
  );
  if (isKnown(conditionsOf(request), tag)) {
    dropDescription(reply);
    void reply.status(304).header('etag', tag);
    return undefined;
  }
  const drawn = content instanceof Undrawn ? await content.draw() : content;
  void reply.header('etag', tag);
  return drawn;
};

/** Whether it is a page, a picture or a file. */
const isFile = (answer: unknown): answer is string | Uint8Array | Undrawn<unknown> =>
  typeof answer === 'string' || answer instanceof Uint8Array || answer instanceof Undrawn;

const bytesOf = (content: string | Uint8Array | JsonText<unknown>): string | Uint8Array =>
  content instanceof JsonText ? content.text : content;
