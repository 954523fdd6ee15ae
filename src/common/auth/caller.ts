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

/** A call as far as access and history ask of it. */
export interface Caller {
  principal: Principal;
  requestId: string;
  /** Why, where the caller says so. */
  reason?: string;
  /** The moment that is asked of. */
  asOf?: Scope['asOf'];
  /** The transaction that the operation reads in. */
  readings?: SharedReading;
}

declare module 'fastify' {
  interface FastifyRequest {
    /** Who sends it, or the messages of its connection; null until that is proven. */
    principal: Principal | null;
    /** The moment that a reading is asked of. */
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

/** The drive that a call names, or that the field is of, and the length of its intervals, as they were sent. */
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

/** A moment to be asked of. Whether it has been is for the database's clock to say. @throws ProblemError invalid */
export const moment = (value: unknown, where: Moment['in']): Moment => {
  const instant = where === 'query' ? withPlus(value) : value;
  const fault = instantFault(instant);
  if (fault === undefined) return { instant: String(instant), in: where };
  throw faulty('invalid', [{ in: where, pointer: '/asOf', value, detail: `asOf ${fault}` }]);
};

/** What is under an answer is asked of the moment that the answer was asked of. */
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

/** A field of a drive belongs to the drive's project, a field of a project to that one. */
const namedProject = (context: ExecutionContext): string | undefined => {
  if (!isGraphql(context)) return (requestOf(context).params as { project?: string }).project;
  const [parent, args] = context.getArgs<FieldArgs>();
  return args['project'] ?? parent?.['project'] ?? parent?.['code'];
};

/** The code of the project that a call names. @throws ProblemError invalid when it can be no code */
export const projectOf = (context: ExecutionContext): string | undefined => {
  const project = namedProject(context);
  const fault = project === undefined ? undefined : codeFault(project);
  if (fault === undefined) return project;
  const place = isGraphql(context) ? 'body' : 'path';
  throw faulty('invalid', [{ in: place, pointer: '/project', value: project, detail: `project ${fault}` }]);
};

/** @throws ProblemError unauthenticated when nobody has proven who they are */
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

/** The transaction that a GraphQL operation reads in; a route and a subscription have none. */
const readingsOf = (context: ExecutionContext): SharedReading | undefined =>
  isGraphql(context) ? context.getArgs<FieldArgs>()[2].readings : undefined;

/** The caller, for what works across projects. */
export const CallerOf = createParamDecorator((_: unknown, context: ExecutionContext): Caller =>
  callerOf(context),
);
