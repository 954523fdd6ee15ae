import { randomUUID } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { faulty } from '../api/problem.js';
import { isUpgrade } from '../api/upgrades.js';
import { Config } from '../config/config.js';
import { cookieOf, setCookie } from './cookies.js';
import { Sealed } from './sealed.js';

/** How long a browser stays signed in, unless its credential expires earlier. [s] */
export const SESSION_S = 12 * 3600;

/** Browsers store cookies of up to 4,096 bytes with their name and attributes (RFC 6265, section 6.1). [bytes] */
const MAX_COOKIE = 3800;

/** Signed-out sessions are remembered until they expire. */
const MOST_ENDED = 10_000;

const COOKIE = {
  secureName: '__Host-drivebook',
  plainName: 'drivebook_session',
  sameSite: 'Strict',
} as const;

interface Session {
  id: string;
  /** The corresponding Authorization header. */
  authorization: string;
  /** When it ends. [ms since 1970] */
  until: number;
}

/**
 * Browser sessions: a cookie that holds the credential, sealed with a key that only the service has. Each request verifies the
 * credential again, as if sent in its header; so the session ends with the credential, and the service stores nothing.
 */
@Injectable()
export class Sessions {
  private readonly sealed: Sealed<Session>;
  private readonly ended = new Map<string, number>();

  constructor({ apiKeyPepper }: Config) {
    this.sealed = new Sealed(apiKeyPepper, 'drivebook session of a browser');
  }

  /** Signs the browser in. @throws ProblemError invalid for a credential too long for a cookie */
  begin(request: FastifyRequest, reply: FastifyReply, authorization: string): void {
    const sealed = this.sealed.seal({
      id: randomUUID(),
      authorization,
      until: Date.now() + SESSION_S * 1000,
    });
    if (sealed.length > MAX_COOKIE) {
      const detail = `credential is too long for a cookie: ${authorization.length} characters`;
      throw faulty('invalid', [{ in: 'body', pointer: '/credential', detail }]);
    }
    setCookie(COOKIE, request, reply, sealed, SESSION_S);
  }

  /** Signs the browser out: this instance no longer accepts the session, nor copies of its cookie. */
  end(request: FastifyRequest, reply: FastifyReply): void {
    const session = this.open(cookieOf(COOKIE, request));
    if (session) {
      this.ended.set(session.id, session.until);
      for (const [id, until] of this.ended)
        if (until < Date.now() || this.ended.size > MOST_ENDED) this.ended.delete(id);
    }
    setCookie(COOKIE, request, reply, '', 0);
  }

  /**
   * The Authorization header of the browser's session, for reading only: a cookie neither writes nor opens a connection, so that a
   * page of another site cannot make the browser do so.
   */
  authorizationOf(request: FastifyRequest): string | undefined {
    const isReading = request.method === 'GET' || request.method === 'HEAD';
    if (!isReading || isUpgrade(request) || request.headers.cookie === undefined) return undefined;
    return this.open(cookieOf(COOKIE, request))?.authorization;
  }

  /** undefined if it was not sealed by this service, or has expired. */
  private open(text: string | undefined): Session | undefined {
    const session = this.sealed.open(text);
    return session && session.until > Date.now() && !this.ended.has(session.id) ? session : undefined;
  }
}
