import { createParamDecorator, type ExecutionContext } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { codeFault } from '../api/fields.js';
import { withPlus } from '../api/plus-kept.js';
import { faulty, ProblemError } from '../api/problem.js';
import { instantFault } from '../api/rules.js';
import type { Moment, Scope } from '../database/scope.js';
import type { SharedReading } from '../database/shared-reading.js';
import type { Principal } from './principal.js';
import { reasonOf } from './reason.js';

/** A call, as far as access and history need it. */
export interface Caller {
  principal: Principal;
  requestId: string;
  /** The reason given for the change, if any. */
  reason?: string;
  /** The moment as of which it reads. */
  asOf?: Scope['asOf'];
  /** The transaction that the operation reads in. */
  readings?: SharedReading;
}

declare module 'fastify' {
  interface FastifyRequest {
    /** Sender of the request, or of the messages of its connection; null until authenticated. */
    principal: Principal | null;
    /** The moment as of which a reading is made. */
    asOf: Scope['asOf'] | null;
  }
}

const isGraphql = (context: ExecutionContext): boolean => context.getType<'http' | 'graphql'>() === 'graphql';

interface GraphqlContext {
  reply: { request: FastifyRequest };
  readings?: SharedReading;
}

/** Parent and arguments of a field. */
type FieldArgs = [Record<string, string> | undefined, Record<string, string>, GraphqlContext];

/** The drive that a call names or its field belongs to, and the length of its intervals, both as sent. */
export const argumentsOf = (context: ExecutionContext): { drive?: string; lengthM?: unknown } => {
  if (isGraphql(context)) {
    const [parent, { drive, lengthM }] = context.getArgs<FieldArgs>();
    return { drive: drive ?? (parent?.['project'] === undefined ? undefined : parent['code']), lengthM };
  }
  const { params, query } = requestOf(context);
  const { drive } = params as { drive?: string };
  return { drive, lengthM: (query as { lengthM?: unknown }).lengthM };
};

/** The request that a call came with. */
export const requestOf = (context: ExecutionContext): FastifyRequest =>
  isGraphql(context)
    ? context.getArgs<FieldArgs>()[2].reply.request
    : context.switchToHttp().getRequest<FastifyRequest>();

/** A moment to read as of. Whether it is past is decided by the database's clock. @throws ProblemError invalid */
export const moment = (value: unknown, where: Moment['in']): Moment => {
  const instant = where === 'query' ? withPlus(value) : value;
  const fault = instantFault(instant);
  if (fault === undefined) return { instant: String(instant), in: where };
  throw faulty('invalid', [{ in: where, pointer: '/asOf', value, detail: `asOf ${fault}` }]);
};

/** The moments of answers: fields below an answer are read as of the same moment. */
const moments = new WeakMap<object, NonNullable<Scope['asOf']>>();

export const keepMoment = (answer: unknown, asOf: NonNullable<Scope['asOf']>): void => {
  const { nodes } = (answer ?? {}) as { nodes?: unknown[] };
  for (const each of Array.isArray(answer) ? (answer as unknown[]) : [answer, ...(nodes ?? [])])
    if (typeof each === 'object' && each !== null) moments.set(each, asOf);
};

const askedOf = (context: ExecutionContext): Scope['asOf'] => {
  if (!isGraphql(context)) return requestOf(context).asOf ?? undefined;
  const [parent, { asOf }] = context.getArgs<FieldArgs>();
  if (asOf != null) return moment(asOf, 'body');
  return parent && moments.get(parent);
};

/** A field of a drive belongs to the drive's project, a field of a project to that project. */
const namedProject = (context: ExecutionContext): string | undefined => {
  if (!isGraphql(context)) return (requestOf(context).params as { project?: string }).project;
  const [parent, args] = context.getArgs<FieldArgs>();
  return args['project'] ?? parent?.['project'] ?? parent?.['code'];
};

/** The code of the project that a call names. @throws ProblemError invalid when it is not a valid code */
export const projectOf = (context: ExecutionContext): string | undefined => {
  const project = namedProject(context);
  const fault = project === undefined ? undefined : codeFault(project);
  if (fault === undefined) return project;
  const place = isGraphql(context) ? 'body' : 'path';
  throw faulty('invalid', [{ in: place, pointer: '/project', value: project, detail: `project ${fault}` }]);
};

/** @throws ProblemError unauthenticated when the request is not authenticated */
export const callerOf = (context: ExecutionContext): Caller => {
  const request = requestOf(context);
  const { principal } = request;
  if (!principal) throw new ProblemError('unauthenticated', 'Send an access token or an API key.');
  return {
    principal,
    requestId: request.id,
    reason: reasonOf(request),
    asOf: askedOf(context),
    readings: readingsOf(context),
  };
};

/** The transaction in which a GraphQL operation reads; routes and subscriptions have none. */
const readingsOf = (context: ExecutionContext): SharedReading | undefined =>
  isGraphql(context) ? context.getArgs<FieldArgs>()[2].readings : undefined;

/** Injects the caller, for work across projects. */
export const CallerOf = createParamDecorator((_: unknown, context: ExecutionContext): Caller =>
  callerOf(context),
);
