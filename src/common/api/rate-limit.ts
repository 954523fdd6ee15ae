import { createHash } from 'node:crypto';
import fastifyRateLimit, { normalizeIP } from '@fastify/rate-limit';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import type { Config } from '../config/config.js';
import { answerFailure } from './problem.filter.js';
import { ProblemError } from './problem.js';

const MINUTE_MS = 60_000;
/** Callers remembered at a time; the one not heard of for longest is forgotten. */
const MAX_CALLERS = 10_000;

/** Whoever watches the service must see it under load as well. */
const EXEMPT = /^\/v1\/health(\/|$)/;

const isExempt = ({ routeOptions }: FastifyRequest): boolean => EXEMPT.test(routeOptions.url ?? '');

/** An IPv6 network of 64 bits is one caller: it has them all. */
const addressOf = ({ ip }: FastifyRequest): string => normalizeIP(ip);

/** A credential is known by its digest: what is kept opens nothing. */
const credentialOf = ({ headers: { authorization } }: FastifyRequest): string | undefined =>
  authorization === undefined ? undefined : createHash('sha256').update(authorization).digest('base64url');

const remember = <T>(map: Map<string, T>, key: string, value: T): void => {
  map.delete(key);
  map.set(key, value);
  const [oldest] = map.keys();
  if (map.size > MAX_CALLERS && oldest !== undefined) map.delete(oldest);
};

const tooMany = (what: string, seconds: number): ProblemError =>
  new ProblemError('too_many_requests', `${what} Wait ${seconds} s.`);

/** What this instance remembers of its callers, in memory: another instance counts for itself. */
class Callers {
  /** Credentials that were taken the last time. */
  private readonly proven = new Map<string, true>();
  /** Credentials refused by address, within the minute that the first of them began. */
  private readonly refused = new Map<string, { count: number; since: number }>();

  constructor(private readonly maxRefused: number) {}

  /** Who is counted: a credential that was taken, else the address. Made-up ones would each be a new caller. */
  nameOf(request: FastifyRequest): string {
    const credential = credentialOf(request);
    return credential !== undefined && this.proven.has(credential)
      ? `credential ${credential}`
      : `address ${addressOf(request)}`;
  }

  /**
   * How long a credential from the address of those refused must wait; 0: not at all. One that was taken need not: a
   * neighbour's expired token must not shut a whole site out. [s]
   */
  waitOf(request: FastifyRequest): number {
    const credential = credentialOf(request);
    if (this.maxRefused === 0 || credential === undefined || this.proven.has(credential)) return 0;
    const refused = this.refused.get(addressOf(request));
    if (!refused || refused.count < this.maxRefused) return 0;
    return Math.max(0, Math.ceil((refused.since + MINUTE_MS - Date.now()) / 1000));
  }

  /** Learns from an answer. */
  learn(request: FastifyRequest, status: number): void {
    const credential = credentialOf(request);
    if (credential === undefined) return;
    if (request.principal) remember(this.proven, credential, true);
    if (status !== 401) return;
    this.proven.delete(credential);
    const address = addressOf(request);
    const { count, since } = this.refused.get(address) ?? { count: 0, since: 0 };
    const isOver = Date.now() - since >= MINUTE_MS;
    remember(this.refused, address, isOver ? { count: 1, since: Date.now() } : { count: count + 1, since });
  }
}

/** Answers in the hook itself, before anything of the request is read: a failed query GraphQL would answer by 200. */
const limitRefused = (fastify: FastifyInstance, callers: Callers): void => {
  fastify.addHook('onRequest', async (request, reply): Promise<FastifyReply | undefined> => {
    const wait = isExempt(request) ? 0 : callers.waitOf(request);
    if (wait === 0) return undefined;
    void reply.header('retry-after', String(wait));
    return answerFailure(tooMany('Too many credentials were refused.', wait), request, reply);
  });
};

const limitRequests = async (fastify: FastifyInstance, callers: Callers, max: number): Promise<void> => {
  await fastify.register(fastifyRateLimit, {
    global: false, // by route, addresses without a route would have no limit
    max,
    timeWindow: MINUTE_MS,
    cache: MAX_CALLERS,
    allowList: isExempt,
    keyGenerator: (request) => callers.nameOf(request),
    errorResponseBuilder: (_request, { ttl }) =>
      tooMany(`More than ${max} requests within a minute.`, Math.ceil(ttl / 1000)),
  });
  const limit = fastify.rateLimit();
  fastify.addHook('onRequest', async function (request, reply): Promise<FastifyReply | undefined> {
    try {
      await limit.call(this, request, reply);
      return undefined;
    } catch (error) {
      return answerFailure(error, request, reply);
    }
  });
};

/** Limits how often a caller is served, and how many credentials an address may try. */
export const limitRates = async (
  fastify: FastifyInstance,
  { rateLimitPerMinute, authFailuresPerMinute }: Pick<Config, 'rateLimitPerMinute' | 'authFailuresPerMinute'>,
): Promise<void> => {
  const callers = new Callers(authFailuresPerMinute);
  fastify.addHook('onSend', async (request, reply) => callers.learn(request, reply.statusCode));
  limitRefused(fastify, callers);
  if (rateLimitPerMinute > 0) await limitRequests(fastify, callers, rateLimitPerMinute);
};
