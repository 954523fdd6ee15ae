import { Injectable } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { ProblemError } from '../api/problem.js';
import { addressOf, RateLimits, tooMany } from '../api/rate-limit.js';
import { Authenticator } from './authenticator.js';
import type { Principal } from './principal.js';

/** Limits on unknown credentials being verified at a time: per address and in total. */
const MAX_JUDGED_OF_ONE = 50;
const MAX_JUDGED = 500;

/**
 * Authenticates and counts every request and every connection. A credential is always verified, however many wrong ones came
 * from its address: only wrong ones are then answered 429.
 */
@Injectable()
export class Gate {
  private readonly judged = new Map<string, number>();
  private judgedInAll = 0;

  constructor(
    private readonly authenticator: Authenticator,
    private readonly limits: RateLimits,
  ) {}

  /** Counts a request that needs no authentication. @throws ProblemError too_many_requests */
  async pass(request: FastifyRequest, reply?: FastifyReply): Promise<void> {
    this.limits.recognise(request, request.headers.authorization);
    await this.limits.count(request, reply);
  }

  /** Counts a connection that will authenticate by its first message. @throws ProblemError too_many_requests, forbidden */
  async admit(request: FastifyRequest, reply?: FastifyReply): Promise<void> {
    await this.limits.count(request, reply);
    this.authenticator.admit(request.headers);
  }

  /** @throws ProblemError unauthenticated, too_many_requests, unavailable, or forbidden to a page of another site in local mode */
  async prove(
    request: FastifyRequest,
    authorization: string | undefined,
    reply?: FastifyReply,
  ): Promise<Principal> {
    const isKnown = this.limits.recognise(request, authorization);
    if (authorization !== undefined && !isKnown) return this.judge(request, authorization, reply);
    await this.limits.count(request, reply);
    this.authenticator.admit(request.headers);
    try {
      return await this.authenticator.principalOf(authorization);
    } catch (error) {
      throw this.counted(request, authorization, error);
    }
  }

  /** Verifies an unknown credential: counted separately when it is valid, otherwise for its address. */
  private async judge(
    request: FastifyRequest,
    authorization: string,
    reply?: FastifyReply,
  ): Promise<Principal> {
    const address = addressOf(request);
    this.enter(address);
    try {
      this.authenticator.admit(request.headers);
      const isSuspect = await this.limits.isSuspect(request);
      const principal = await this.authenticator.principalOf(authorization, isSuspect);
      this.limits.accepted(request, authorization);
      await this.limits.count(request, reply);
      return principal;
    } catch (error) {
      if (request.countedAs === null) await this.limits.count(request, reply);
      throw this.counted(request, authorization, error);
    } finally {
      this.leave(address);
    }
  }

  /** The failure to answer; a wrong credential is counted. */
  private counted(request: FastifyRequest, authorization: string | undefined, failure: unknown): unknown {
    const isWrong = failure instanceof ProblemError && failure.code === 'unauthenticated';
    if (!isWrong || authorization === undefined) return failure;
    try {
      this.limits.refused(request, authorization);
      return failure;
    } catch (limit) {
      return limit;
    }
  }

  private enter(address: string): void {
    const now = this.judged.get(address) ?? 0;
    if (now >= MAX_JUDGED_OF_ONE || this.judgedInAll >= MAX_JUDGED)
      throw tooMany('Too many credentials are being checked.', 1);
    this.judged.set(address, now + 1);
    this.judgedInAll += 1;
  }

  private leave(address: string): void {
    const now = this.judged.get(address) ?? 0;
    if (now > 1) this.judged.set(address, now - 1);
    else this.judged.delete(address);
    this.judgedInAll -= 1;
  }
}
