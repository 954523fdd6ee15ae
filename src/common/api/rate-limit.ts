import { createHash } from 'node:crypto';
import fastifyRateLimit, { normalizeIP } from '@fastify/rate-limit';
import { Injectable } from '@nestjs/common';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { Config } from '../config/config.js';
import { ProblemError } from './problem.js';

declare module 'fastify' {
  interface FastifyRequest {
    /** The authenticated credential by which requests and messages are counted; null: they are counted by address. */
    countedAs: string | null;
  }
}

const MINUTE_MS = 60_000;
/** Callers remembered at a time; the least recently seen is forgotten first. */
const MAX_CALLERS = 10_000;

/** Monitoring must reach the service under load as well. */
const EXEMPT = /^\/v1\/health(\/|$)/;

const isExempt = ({ routeOptions }: FastifyRequest): boolean => EXEMPT.test(routeOptions.url ?? '');

/** An IPv6 /64 network counts as one caller, who usually has all of it. */
export const addressOf = ({ ip }: FastifyRequest): string => normalizeIP(ip);

/** A credential is remembered by its digest, which gives no access. */
const digestOf = (authorization: string): string =>
  createHash('sha256').update(authorization).digest('base64url');

const remember = <T>(map: Map<string, T>, key: string, value: T): void => {
  map.delete(key);
  map.set(key, value);
  const [oldest] = map.keys();
  if (map.size > MAX_CALLERS && oldest !== undefined) map.delete(oldest);
};

export const tooMany = (what: string, seconds: number): ProblemError =>
  new ProblemError('too_many_requests', `${what} Wait ${seconds} s.`, [], seconds);

type Limiter = ReturnType<FastifyInstance['createRateLimit']>;

/**
 * Rate limits per caller, and a limit on wrong credentials per address. Kept in memory: each instance counts for itself.
 */
@Injectable()
export class RateLimits {
  /** Credentials that were valid at their last use. */
  private readonly proven = new Map<string, true>();
  /** Wrong credentials by address, within one minute from the first of them. */
  private readonly wrong = new Map<string, { count: number; since: number }>();
  /** undefined: no limit on requests */
  private limiter: Limiter | undefined;

  constructor(private readonly config: Config) {}

  async attachTo(fastify: FastifyInstance): Promise<void> {
    const { rateLimitPerMinute: max } = this.config;
    fastify.decorateRequest('countedAs', null);
    if (max === 0) return;
    await fastify.register(fastifyRateLimit, {
      global: false, // limits per route would leave unknown addresses unlimited
      max,
      timeWindow: MINUTE_MS,
      cache: MAX_CALLERS,
      allowList: isExempt,
      keyGenerator: (request) =>
        request.countedAs === null ? `address ${addressOf(request)}` : `credential ${request.countedAs}`,
    });
    this.limiter = fastify.createRateLimit();
  }

  /** Whether this credential was valid at its last use. Made-up ones would each be a new caller, so they count for the address. */
  recognise(request: FastifyRequest, authorization: string | undefined): boolean {
    const digest = authorization === undefined ? undefined : digestOf(authorization);
    const isKnown = digest !== undefined && this.proven.has(digest);
    request.countedAs = isKnown ? digest : null;
    return isKnown;
  }

  /** Counts a request, or a message of its connection. @throws ProblemError too_many_requests */
  async count(request: FastifyRequest, reply?: FastifyReply): Promise<void> {
    const found = await this.limiter?.(request);
    if (!found || found.isAllowed) return;
    const { max, remaining, ttlInSeconds, isExceeded } = found;
    void reply?.headers({
      'x-ratelimit-limit': String(max),
      'x-ratelimit-remaining': String(remaining),
      'x-ratelimit-reset': String(ttlInSeconds),
    });
    if (isExceeded) throw tooMany(`More than ${max} requests within a minute.`, ttlInSeconds);
  }

  /** Whether the address has sent so many requests or wrong credentials that its next credential gets only a cheap check. */
  async isSuspect(request: FastifyRequest): Promise<boolean> {
    if (this.waitOf(addressOf(request)) > 0) return true;
    const found = await this.limiter?.(request, { increment: false });
    return found !== undefined && !found.isAllowed && found.remaining === 0;
  }

  /** Remembers a valid credential: from now on it is counted separately. */
  accepted(request: FastifyRequest, authorization: string): void {
    request.countedAs = digestOf(authorization);
    remember(this.proven, request.countedAs, true);
  }

  /** Counts a wrong credential. @throws ProblemError too_many_requests when its address has sent too many */
  refused(request: FastifyRequest, authorization: string): void {
    this.proven.delete(digestOf(authorization));
    request.countedAs = null;
    const address = addressOf(request);
    const wait = this.waitOf(address);
    if (wait > 0) throw tooMany('Too many credentials were refused.', wait);
    const { count, since } = this.wrong.get(address) ?? { count: 0, since: 0 };
    const isOver = Date.now() - since >= MINUTE_MS;
    remember(this.wrong, address, isOver ? { count: 1, since: Date.now() } : { count: count + 1, since });
  }

  /** For how long wrong credentials of the address are answered 429; 0: they are not. [s] */
  private waitOf(address: string): number {
    const { authFailuresPerMinute: max } = this.config;
    const wrong = this.wrong.get(address);
    if (max === 0 || !wrong || wrong.count < max) return 0;
    return Math.max(0, Math.ceil((wrong.since + MINUTE_MS - Date.now()) / 1000));
  }
}
