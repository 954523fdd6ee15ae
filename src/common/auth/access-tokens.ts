import {
  createRemoteJWKSet,
  customFetch,
  errors,
  type FetchImplementation,
  type JWTPayload,
  jwtVerify,
  type JWTVerifyGetKey,
  type RemoteJWKSet,
} from 'jose';
import { ProblemError } from '../api/problem.js';
import type { OidcConfig } from '../config/config.js';
import { isPrivateUrl } from './loopback.js';
import { isTokenSubject, type Principal } from './principal.js';

/** Allowed difference between the clocks of issuer and service. [s] */
const CLOCK_TOLERANCE_S = 5;

/** Time for the issuer to answer. [ms] */
const TIME_LIMIT_MS = 5_000;

/**
 * Minimum interval between equal requests to the issuer: anyone can send a token with an unknown key id, which must not make us
 * flood the issuer. It equals Retry-After of a 503, so no caller waits longer for a new key. [ms]
 */
const COOLDOWN_MS = 5_000;

/** Maximum age of cached keys: a key withdrawn by the issuer is trusted no longer than this. [ms] */
const KEYS_AGE_MS = 600_000;

/** RFC 9068 section 2.2; `iss` and `aud` are required because expected values are given. */
const REQUIRED = ['exp', 'iat', 'sub', 'client_id', 'jti'];

const refused = (rule: string): ProblemError =>
  new ProblemError('unauthenticated', `The access token ${rule}.`);

const unavailable = (what: string, cause?: unknown): ProblemError =>
  Object.assign(new ProblemError('unavailable', `The issuer of the access tokens ${what}.`), { cause });

/** Messages for claims that are present but wrong. */
const WRONG_CLAIM: Record<string, string | undefined> = {
  iss: 'comes from another issuer',
  aud: 'is meant for another audience',
  typ: 'is not an access token: its type must be at+jwt',
  nbf: 'is not valid yet',
};

/** The rule of RFC 9068 section 4 that a token breaks, without any content of the token. */
const ruleOf = (error: unknown): string => {
  if (error instanceof errors.JWTExpired) return 'has expired';
  if (error instanceof errors.JWTClaimValidationFailed) {
    const wrong = error.reason === 'check_failed' ? WRONG_CLAIM[error.claim] : undefined;
    return wrong ?? `has no valid claim "${error.claim}"`;
  }
  if (error instanceof errors.JOSEAlgNotAllowed) return 'is signed by an algorithm that is not allowed';
  if (error instanceof errors.JWKSNoMatchingKey)
    return 'is signed with a key that its issuer does not publish';
  if (error instanceof errors.JWKSMultipleMatchingKeys)
    return 'does not say which key of its issuer signed it';
  if (error instanceof errors.JWSSignatureVerificationFailed) return 'has an invalid signature';
  return 'cannot be read';
};

const textOf = (claims: JWTPayload, name: string): string => {
  const value = claims[name];
  if (typeof value === 'string' && value !== '') return value;
  throw refused(`has no valid claim "${name}"`);
};

/** The subject, unless it could be mistaken for an API key or the user of local mode. */
const subjectOf = (claims: JWTPayload): string => {
  const subject = textOf(claims, 'sub');
  if (!isTokenSubject(subject)) throw refused('has no valid claim "sub"');
  return subject;
};

/** Verifies access tokens of one issuer: JWT of RFC 9068, with the practices of RFC 8725. */
export class AccessTokens {
  private found: Promise<RemoteJWKSet> | undefined;
  private readonly askedAt = new Map<string, number>();

  constructor(private readonly oidc: OidcConfig) {}

  /**
   * The principal that a token identifies.
   * @throws ProblemError unauthenticated naming the broken rule; unavailable when the issuer's keys cannot be fetched
   */
  async verify(token: string): Promise<Principal> {
    const { issuer, audience, algorithms } = this.oidc;
    try {
      const { payload } = await jwtVerify(token, this.keyOf, {
        typ: 'at+jwt', // also matches application/at+jwt (RFC 7515 section 4.1.9)
        algorithms,
        issuer,
        audience,
        requiredClaims: REQUIRED,
        clockTolerance: CLOCK_TOLERANCE_S,
      });
      for (const name of ['client_id', 'jti']) textOf(payload, name);
      return { subject: subjectOf(payload), credential: 'token' };
    } catch (error) {
      throw error instanceof ProblemError ? error : refused(ruleOf(error));
    }
  }

  /** Keys come from the issuer alone: key references in the header (`jku`, `x5u`, `jwk`) are ignored (RFC 8725 section 3.10). */
  private readonly keyOf: JWTVerifyGetKey = async (header, token) => {
    try {
      const keys = await (this.found ??= this.discover());
      return await keys(header, token);
    } catch (error) {
      const { JWKSNoMatchingKey, JWKSMultipleMatchingKeys } = errors;
      const isTokens = error instanceof JWKSNoMatchingKey || error instanceof JWKSMultipleMatchingKeys;
      throw isTokens || error instanceof ProblemError ? error : unavailable('cannot be reached now', error);
    }
  };

  /** Finds the issuer's keys from its metadata (RFC 8414, OpenID Connect Discovery 1.0 section 4). */
  private async discover(): Promise<RemoteJWKSet> {
    try {
      const address = `${this.oidc.issuer.replace(/\/$/, '')}/.well-known/openid-configuration`;
      const response = await this.ask(address, {
        method: 'GET',
        headers: new Headers({ accept: 'application/json' }),
        redirect: 'manual',
        signal: AbortSignal.timeout(TIME_LIMIT_MS),
      });
      if (response.status !== 200) throw new Error(`The description was answered with ${response.status}.`);
      const { issuer, jwks_uri } = (await response.json()) as { issuer?: unknown; jwks_uri?: unknown };
      // With another issuer's keys, anyone could pass for our issuer.
      if (issuer !== this.oidc.issuer) throw unavailable('does not match OIDC_ISSUER');
      const url = new URL(String(jwks_uri));
      if (!isPrivateUrl(url)) throw unavailable('publishes its keys without TLS');
      return createRemoteJWKSet(url, {
        timeoutDuration: TIME_LIMIT_MS,
        cooldownDuration: COOLDOWN_MS,
        cacheMaxAge: KEYS_AGE_MS,
        [customFetch]: this.ask,
      });
    } catch (error) {
      this.found = undefined; // the next token triggers a new attempt
      throw error;
    }
  }

  /** A request to the issuer, unless the same was sent within the cooldown: a failed request is not repeated for each token. */
  private readonly ask: FetchImplementation = (url, options) => {
    const now = Date.now();
    const since = Math.abs(now - (this.askedAt.get(url) ?? -Infinity)); // abs: do not wait on if the clock was set back
    if (since < COOLDOWN_MS) return Promise.reject(new Error('The issuer was asked a moment ago.'));
    this.askedAt.set(url, now);
    return fetch(url, options);
  };
}
