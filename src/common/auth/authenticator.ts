import { Injectable } from '@nestjs/common';
import type { IncomingHttpHeaders } from 'node:http';
import { ProblemError } from '../api/problem.js';
import { Config } from '../config/config.js';
import { Database } from '../database/database.js';
import { AccessTokens } from './access-tokens.js';
import { type ApiKey, ApiKeyHash, readApiKey } from './api-keys.js';
import { bearerOf, localPersonOf } from './credentials.js';
import { TtlCache } from './ttl-cache.js';
import { refuseForeign } from './loopback.js';
import type { Permission } from './permissions.js';
import { KEY_SUBJECT, LOCAL_SUBJECT, type Principal } from './principal.js';

interface KeyRow {
  project_id: number | null;
  name: string;
  hash: Uint8Array;
  scopes: Permission[];
  /** Remaining lifetime when it was looked up, by the database's clock. [ms] */
  left_ms: number;
}

interface KnownKey extends KeyRow {
  /** Expiry by the service's monotonic clock. [ms] */
  endsAt: number;
}

const LIVE_KEY = `select project_id, name, hash, scopes, extract(epoch from expires_at - clock_timestamp())::float8 * 1000 as left_ms
  from live_api_key($1)`;

/** Whether a project has a member of this name, or the installation an administrator. */
const PERSON = `select is_administrator($1) or exists (select from project_codes($1, null)) as "is"`;

/** Limit on simultaneous lookups; above it only keys with the prefix of a live key are looked up. */
const MAX_LOOKUPS = 4;

const LOCAL: Principal = { subject: LOCAL_SUBJECT, credential: 'local' };

/** Authenticates a request by access token or API key; in local mode a request without either is the local user, or the person it names. */
@Injectable()
export class Authenticator {
  private readonly tokens: AccessTokens | undefined;
  private readonly hash: ApiKeyHash | undefined;
  private readonly people = new TtlCache<boolean>();
  private readonly keys = new TtlCache<KnownKey | undefined>();
  private readonly prefixes = new TtlCache<ReadonlySet<string>>();
  private readonly uses = new TtlCache<unknown>();
  /** Lookups in progress. */
  private lookups = 0;

  constructor(
    private readonly config: Config,
    private readonly database: Database,
  ) {
    this.tokens = config.oidc && new AccessTokens(config.oidc);
    this.hash = config.apiKeyPepper === undefined ? undefined : new ApiKeyHash(config.apiKeyPepper);
  }

  /** @throws ProblemError forbidden to a page of another site in local mode */
  admit(headers: IncomingHttpHeaders): void {
    if (this.config.auth === 'local') refuseForeign(headers, this.config.corsOrigins);
  }

  /**
   * @param isSuspect  the same address has sent guesses: a key is looked up only if its prefix is that of a live key, which one
   *   statement answers for all guesses within two seconds
   * @throws ProblemError unauthenticated
   */
  async principalOf(authorization: string | undefined, isSuspect = false): Promise<Principal> {
    if (this.config.auth === 'local') {
      if (authorization === undefined) return LOCAL;
      const person = localPersonOf(authorization);
      if (person !== undefined) return this.ofPerson(person);
    }
    const bearer = bearerOf(authorization);
    const key = readApiKey(bearer);
    if (key) return this.ofKey(key, isSuspect);
    if (!this.tokens) throw new ProblemError('unauthenticated', 'This service accepts API keys only.');
    return this.tokens.verify(bearer);
  }

  /** A name that was mistyped would otherwise find no project. Only this machine can ask. */
  private async ofPerson(name: string): Promise<Principal> {
    const isKnown = await this.people.get(name, async () => {
      const [row] = await this.database.ask<{ is: boolean }>(PERSON, [name]);
      return row?.is ?? false;
    });
    if (!isKnown) throw new ProblemError('unauthenticated', `There is no person ${name} in any project.`);
    return { ...LOCAL, subject: name };
  }

  private async ofKey({ prefix, secret }: ApiKey, isSuspect: boolean): Promise<Principal> {
    if (!this.hash)
      throw new ProblemError(
        'unauthenticated',
        'This service does not accept API keys: API_KEY_PEPPER is not set.',
      );
    const isGuess = (isSuspect || this.lookups >= MAX_LOOKUPS) && !(await this.isLive(prefix));
    const row = isGuess ? undefined : await this.keys.get(prefix, () => this.find(prefix));
    if (!row || row.endsAt <= performance.now() || !this.hash.matches(secret, row.hash))
      throw new ProblemError('unauthenticated', 'The API key is not known, has expired or was revoked.');
    await this.uses.get(prefix, () => this.database.ask('select use_api_key($1)', [prefix]));
    const { name, scopes, project_id: projectId } = row;
    return { subject: KEY_SUBJECT + name, credential: `key ${prefix}`, key: { projectId, scopes } };
  }

  private async isLive(prefix: string): Promise<boolean> {
    const live = await this.prefixes.get('', async () => {
      const rows = await this.database.ask<{ prefix: string }>('select prefix from live_api_key_prefixes()');
      return new Set(rows.map((row) => row.prefix));
    });
    return live.has(prefix);
  }

  private async find(prefix: string): Promise<KnownKey | undefined> {
    this.lookups += 1;
    try {
      const [row] = await this.database.ask<KeyRow>(LIVE_KEY, [prefix]);
      return row && { ...row, endsAt: performance.now() + row.left_ms };
    } finally {
      this.lookups -= 1;
    }
  }
}
