import { Injectable } from '@nestjs/common';
import type { IncomingHttpHeaders } from 'node:http';
import { ProblemError } from '../api/problem.js';
import { Config } from '../config/config.js';
import { Database } from '../database/database.js';
import { AccessTokens } from './access-tokens.js';
import { type ApiKey, ApiKeyHash, readApiKey } from './api-keys.js';
import { bearerOf } from './credentials.js';
import { Fleeting } from './fleeting.js';
import { refuseForeign } from './loopback.js';
import type { Permission } from './permissions.js';
import { KEY_SUBJECT, LOCAL_SUBJECT, type Principal } from './principal.js';

interface KeyRow {
  project_id: number | null;
  name: string;
  hash: Uint8Array;
  scopes: Permission[];
  expires_at: Date;
}

const LOCAL: Principal = { subject: LOCAL_SUBJECT, credential: 'local' };

/** Proves who sends a request, by access token or API key; in local mode whoever sends none is the one user. */
@Injectable()
export class Authenticator {
  private readonly tokens: AccessTokens | undefined;
  private readonly hash: ApiKeyHash | undefined;
  private readonly keys = new Fleeting<KeyRow | undefined>();

  constructor(
    private readonly config: Config,
    private readonly database: Database,
  ) {
    this.tokens = config.oidc && new AccessTokens(config.oidc);
    this.hash = config.apiKeyPepper === undefined ? undefined : new ApiKeyHash(config.apiKeyPepper);
  }

  /** Lets a request in that is to prove itself later. @throws ProblemError forbidden to a page of another site in local mode */
  admit(headers: IncomingHttpHeaders): void {
    if (this.config.auth === 'local') refuseForeign(headers, this.config.corsOrigins);
  }

  /** @throws ProblemError unauthenticated, or forbidden to a page of another site in local mode */
  async principalOf(headers: IncomingHttpHeaders): Promise<Principal> {
    this.admit(headers);
    if (this.config.auth === 'local' && headers.authorization === undefined) return LOCAL;
    const bearer = bearerOf(headers.authorization);
    const key = readApiKey(bearer);
    if (key) return this.ofKey(key);
    if (!this.tokens) throw new ProblemError('unauthenticated', 'This service takes API keys only.');
    return this.tokens.verify(bearer);
  }

  private async ofKey({ prefix, secret }: ApiKey): Promise<Principal> {
    if (!this.hash)
      throw new ProblemError('unauthenticated', 'This service takes no API keys: it has no API_KEY_PEPPER.');
    const row = await this.keys.get(prefix, () => this.find(prefix));
    if (!row || row.expires_at.getTime() <= Date.now() || !this.hash.matches(secret, row.hash))
      throw new ProblemError('unauthenticated', 'The API key is not known, has expired or was revoked.');
    const { name, scopes, project_id: projectId } = row;
    return { subject: KEY_SUBJECT + name, credential: `key ${prefix}`, key: { projectId, scopes } };
  }

  private async find(prefix: string): Promise<KeyRow | undefined> {
    const [row] = await this.database.ask<KeyRow>('select * from live_api_key($1)', [prefix]);
    if (row) await this.database.ask('select use_api_key($1)', [prefix]);
    return row;
  }
}
