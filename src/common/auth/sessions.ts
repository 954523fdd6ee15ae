import { createCipheriv, createDecipheriv, hkdfSync, randomBytes, randomUUID } from 'node:crypto';
import { Injectable } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { faulty } from '../api/problem.js';
import { isUpgrade } from '../api/upgrades.js';
import { Config } from '../config/config.js';

/** How long a browser stays signed in; a credential that ends before ends it too. [s] */
export const SESSION_S = 12 * 3600;

/** Browsers keep cookies of up to 4,096 bytes with their name and attributes (RFC 6265, section 6.1). [bytes] */
const MAX_COOKIE = 3800;

/** Sessions remembered as signed out, until they expire. */
const MOST_ENDED = 10_000;

const [IV_BYTES, TAG_BYTES] = [12, 16];

interface Session {
  id: string;
  /** The value of the header Authorization that it stands for. */
  authorization: string;
  /** When it ends. [ms since 1970] */
  until: number;
}

const isSecure = ({ protocol }: FastifyRequest): boolean => protocol === 'https';

/** `__Host-` keeps other hosts of the domain from setting it (RFC 6265bis, section 4.1.3.2); it asks for TLS. */
const nameOf = (request: FastifyRequest): string =>
  isSecure(request) ? '__Host-drivebook' : 'drivebook_session';

const cookieOf = (request: FastifyRequest): string | undefined => {
  const start = `${nameOf(request)}=`;
  const cookies = (request.headers.cookie ?? '').split(';').map((each) => each.trim());
  return cookies.find((each) => each.startsWith(start))?.slice(start.length);
};

/**
 * What a browser is signed in by: a cookie that holds the credential, sealed by a key that only the service has. Each request verifies
 * the credential again, as if sent in its header; so the session ends with the credential, and the service stores nothing of it.
 */
@Injectable()
export class Sessions {
  private readonly key: Uint8Array;
  private readonly ended = new Map<string, number>();

  constructor({ apiKeyPepper }: Config) {
    // Without a pepper, a key of this process: sessions end when it does.
    const secret = apiKeyPepper ?? randomBytes(32);
    this.key = new Uint8Array(hkdfSync('sha256', secret, '', 'drivebook session of a browser', 32));
  }

  /** Signs the browser in. @throws ProblemError invalid for a credential that fits in no cookie */
  begin(request: FastifyRequest, reply: FastifyReply, authorization: string): void {
    const sealed = this.seal({ id: randomUUID(), authorization, until: Date.now() + SESSION_S * 1000 });
    if (sealed.length > MAX_COOKIE) {
      const detail = `credential is too long for a cookie: ${authorization.length} characters`;
      throw faulty('invalid', [{ in: 'body', pointer: '/credential', detail }]);
    }
    setCookie(request, reply, sealed, SESSION_S);
  }

  /** Signs the browser out: this instance no longer accepts the session, nor copies of its cookie. */
  end(request: FastifyRequest, reply: FastifyReply): void {
    const session = this.open(cookieOf(request));
    if (session) {
      this.ended.set(session.id, session.until);
      for (const [id, until] of this.ended)
        if (until < Date.now() || this.ended.size > MOST_ENDED) this.ended.delete(id);
    }
    setCookie(request, reply, '', 0);
  }

  /**
   * The header Authorization that the browser's session stands for. It reads only: nothing is written by a cookie, and no connection
   * is opened by one, so that no page of another site can have the browser do it.
   */
  authorizationOf(request: FastifyRequest): string | undefined {
    const isReading = request.method === 'GET' || request.method === 'HEAD';
    if (!isReading || isUpgrade(request) || request.headers.cookie === undefined) return undefined;
    return this.open(cookieOf(request))?.authorization;
  }

  private seal(session: Session): string {
    const iv = randomBytes(IV_BYTES);
    const cipher = createCipheriv('aes-256-gcm', this.key, iv);
    const text = Buffer.concat([cipher.update(JSON.stringify(session), 'utf8'), cipher.final()]);
    return Buffer.concat([iv, cipher.getAuthTag(), text]).toString('base64url');
  }

  /** undefined if it was not sealed by this service, or has expired. */
  private open(sealed: string | undefined): Session | undefined {
    if (!sealed) return undefined;
    const bytes = Buffer.from(sealed, 'base64url');
    try {
      const decipher = createDecipheriv('aes-256-gcm', this.key, bytes.subarray(0, IV_BYTES), {
        authTagLength: TAG_BYTES,
      });
      decipher.setAuthTag(bytes.subarray(IV_BYTES, IV_BYTES + TAG_BYTES));
      const text = Buffer.concat([decipher.update(bytes.subarray(IV_BYTES + TAG_BYTES)), decipher.final()]);
      const session = JSON.parse(text.toString('utf8')) as Session;
      return session.until > Date.now() && !this.ended.has(session.id) ? session : undefined;
    } catch {
      return undefined;
    }
  }
}

const setCookie = (request: FastifyRequest, reply: FastifyReply, value: string, maxAgeS: number): void => {
  const attributes = ['Path=/', `Max-Age=${maxAgeS}`, 'HttpOnly', 'SameSite=Strict'];
  if (isSecure(request)) attributes.push('Secure');
  void reply.header('set-cookie', [`${nameOf(request)}=${value}`, ...attributes].join('; '));
};
