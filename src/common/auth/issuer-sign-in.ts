import { Injectable } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import type * as Library from 'openid-client';
import { ProblemError } from '../api/problem.js';
import { type BrowserClient, Config, type OidcConfig } from '../config/config.js';
import { cookieOf, setCookie } from './cookies.js';
import { isPrivateUrl } from './loopback.js';
import { Sealed } from './sealed.js';

/** Time to sign in at the issuer. [s] */
const FLOW_S = 600;

/** Time for the issuer to answer. [s] */
const TIME_LIMIT_S = 5;

/** After a failure, the issuer's metadata is not fetched again for this long; otherwise it is refreshed after a while. [ms] */
const COOLDOWN_MS = 5_000;
const DESCRIPTION_AGE_MS = 600_000;

/** Used sign-in states are remembered until they expire. */
const MOST_USED = 10_000;

/** SameSite=Lax: sent when the issuer's site redirects the browser back. */
const COOKIE = { secureName: '__Host-drivebook-way', plainName: 'drivebook_way', sameSite: 'Lax' } as const;

export const CALLBACK = '/sign-in/callback';

/** A browser's sign-in in progress. */
interface Way {
  state: string;
  nonce: string;
  verifier: string;
  next: string;
  /** [ms since 1970] */
  until: number;
}

interface Issuer {
  library: typeof Library;
  configuration: Library.Configuration;
}

export interface SignedIn {
  /** The access token, as an Authorization header. */
  authorization: string;
  /** `sub` of the ID token. */
  subject: string;
  next: string;
}

const refused = (detail: string, cause?: unknown): ProblemError =>
  Object.assign(new ProblemError('unauthenticated', detail), { cause });

/**
 * Signs a browser in at the issuer: authorization code with PKCE (RFC 7636, RFC 9700 section 2.1.1), state and nonce (OpenID Connect
 * Core 1.0, section 3.1), and the `iss` parameter (RFC 9207) where the issuer sends it. State in between is kept in a sealed cookie.
 */
@Injectable()
export class IssuerSignIn {
  private readonly oidc: OidcConfig | undefined;
  private readonly client: BrowserClient | undefined;
  private readonly ways: Sealed<Way>;
  private readonly used = new Map<string, number>();
  private found: Promise<Issuer> | undefined;
  private foundUntil = 0;

  constructor({ oidc, apiKeyPepper }: Config) {
    this.oidc = oidc;
    this.client = oidc?.browser;
    this.ways = new Sealed(apiKeyPepper, 'drivebook way to the issuer');
  }

  get isOffered(): boolean {
    return this.client !== undefined;
  }

  /** @returns the address to redirect the browser to. @throws ProblemError not_found if not configured; unavailable */
  async begin(request: FastifyRequest, reply: FastifyReply, next: string): Promise<string> {
    const { library, configuration } = await this.issuer();
    const { redirectUri, scope } = this.offered();
    const verifier = library.randomPKCECodeVerifier();
    const [state, nonce] = [library.randomState(), library.randomNonce()];
    const way = { state, nonce, verifier, next, until: Date.now() + FLOW_S * 1000 };
    setCookie(COOKIE, request, reply, this.ways.seal(way), FLOW_S);
    return library.buildAuthorizationUrl(configuration, {
      ...{ redirect_uri: redirectUri, scope, state, nonce, ...this.resource() },
      ...{
        code_challenge: await library.calculatePKCECodeChallenge(verifier),
        code_challenge_method: 'S256',
      },
    }).href;
  }

  /** @throws ProblemError unauthenticated for a response that does not belong to this browser or that the issuer does not confirm; unavailable */
  async complete(request: FastifyRequest, reply: FastifyReply): Promise<SignedIn> {
    const { redirectUri } = this.offered();
    const way = this.ways.open(cookieOf(COOKIE, request));
    setCookie(COOKIE, request, reply, '', 0);
    if (!way || way.until < Date.now() || this.used.has(way.state))
      throw refused('Signing in took too long, or was begun in another browser. Sign in again.');
    this.use(way);
    const { library, configuration } = await this.issuer();
    try {
      const answer = new URL(redirectUri);
      answer.search = new URL(request.url, redirectUri).search;
      const checks = {
        ...{ pkceCodeVerifier: way.verifier, expectedState: way.state, expectedNonce: way.nonce },
        idTokenExpected: true,
      };
      const tokens = await library.authorizationCodeGrant(configuration, answer, checks, this.resource());
      const subject = tokens.claims()?.sub ?? '';
      return { authorization: `Bearer ${tokens.access_token}`, subject, next: way.next };
    } catch (error) {
      throw failureOf(library, error);
    }
  }

  private use({ state, until }: Way): void {
    this.used.set(state, until);
    for (const [each, end] of this.used)
      if (end < Date.now() || this.used.size > MOST_USED) this.used.delete(each);
  }

  private offered(): BrowserClient {
    if (!this.client)
      throw new ProblemError('not_found', 'Signing in at an issuer is not set up: it needs OIDC_CLIENT_ID.');
    return this.client;
  }

  /** Requests an access token for this service (RFC 8707) where its audience is a URI; otherwise the parameter is left out. */
  private resource(): Record<string, string> {
    const { audience = '' } = this.oidc ?? {};
    return URL.canParse(audience) ? { resource: audience } : {};
  }

  private issuer(): Promise<Issuer> {
    this.offered();
    if (!this.found || this.foundUntil < Date.now()) {
      this.foundUntil = Date.now() + DESCRIPTION_AGE_MS;
      this.found = this.discover().catch((error: unknown) => {
        this.foundUntil = Date.now() + COOLDOWN_MS;
        throw Object.assign(new ProblemError('unavailable', 'The issuer cannot be reached now.'), {
          cause: error,
        });
      });
    }
    return this.found;
  }

  private async discover(): Promise<Issuer> {
    const library = await import('openid-client'); // loaded only when the first browser signs in this way
    const { issuer } = this.oidc!;
    const { clientId, clientSecret } = this.offered();
    const url = new URL(issuer);
    const authentication =
      clientSecret === undefined ? library.None() : library.ClientSecretPost(clientSecret);
    const isHttp = url.protocol === 'http:' && isPrivateUrl(url); // an issuer on this machine
    const configuration = await library.discovery(url, clientId, undefined, authentication, {
      timeout: TIME_LIMIT_S,
      execute: [library.enableNonRepudiationChecks, ...(isHttp ? [library.allowInsecureRequests] : [])],
    });
    return { library, configuration };
  }
}

/** Nothing of a response is repeated in an error, except an error code of RFC 6749, section 4.1.2.1. */
const failureOf = (library: typeof Library, error: unknown): ProblemError => {
  if (error instanceof library.AuthorizationResponseError && /^[a-z_]{1,40}$/.test(error.error))
    return refused(`The issuer did not sign you in: ${error.error.replaceAll('_', ' ')}.`, error);
  if (error instanceof library.ResponseBodyError)
    return refused('The issuer did not accept its own answer: it may have expired. Sign in again.', error);
  const isUnreachable =
    error instanceof TypeError ||
    (error instanceof Error && /Timeout|fetch/i.test(`${error.name} ${error.message}`));
  if (isUnreachable)
    return Object.assign(new ProblemError('unavailable', 'The issuer cannot be reached now.'), {
      cause: error,
    });
  return refused('The answer of the issuer cannot be verified. Sign in again.', error);
};
