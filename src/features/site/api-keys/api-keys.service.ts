import { Injectable } from '@nestjs/common';
import { type Fault, faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Config } from '../../../common/config/config.js';
import { Database, readRows } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { ApiKey, type ApiKeyInput, type NewApiKey } from './api-key.models.js';
import { actsFor } from '../parties/parties.service.js';
import { scopeFault } from './key-scopes.js';
import { DAY_MS, INSERT_KEY, MAX_DAYS, newKey } from './new-key.js';

const DEFAULT_DAYS = 90;

/** The last use is not part of the history, so it is not given as of a moment. */
const KEYS = sql`select ${columnsOf(ApiKey, 'k', { party: 'p.code', lastUsedAt: 'u.last_used_at' })}
  from api_key k left join party_member a on a.subject = 'key:' || k.name left join party p on p.id = a.party_id left join api_key_use u on u.prefix = k.prefix and history.standing_change() is null
  order by k.name, k.created_at, k.prefix`;

/** Keys with the same name are one subject, which acts for one party. */
const LIVE = `select distinct p.code as party from api_key k left join party_member a on a.subject = 'key:' || k.name left join party p on p.id = a.party_id
  where k.name = $1 and k.revoked_at is null and k.expires_at > clock_timestamp()`;

const REVOKE = `update api_key set revoked_at = clock_timestamp(), revoked_by = $3
  where project_id = $1 and prefix = $2 and revoked_at is null`;

/** API keys for machines in a project. */
@Injectable()
export class ApiKeysService {
  constructor(
    private readonly config: Config,
    private readonly database: Database,
  ) {}

  list(): Promise<ApiKey[]> {
    return this.database.read(KEYS);
  }

  async create({ name, scopes, expiresAt, party }: ApiKeyInput): Promise<NewApiKey> {
    const createdAt = await this.database.now();
    const ends =
      expiresAt == null ? new Date(createdAt.getTime() + DEFAULT_DAYS * DAY_MS) : new Date(expiresAt);
    const faults = faultsOf(scopes, createdAt, ends, expiresAt);
    if (faults.length > 0) throw faulty('invalid', faults);
    const { apiKeyPepper } = this.config;
    if (apiKeyPepper === undefined)
      throw new ProblemError('conflict', 'This service does not support API keys yet: set API_KEY_PEPPER.');
    const { projectId, actor: createdBy } = scope();
    const { text, prefix, row } = newKey(apiKeyPepper, {
      projectId,
      name,
      scopes,
      createdBy,
      createdAt,
      expiresAt: ends,
    });
    await this.database.ofProject(async (transaction) => {
      const [live] = await readRows<{ party: string | null }>(transaction, LIVE, name);
      await transaction.$executeRawUnsafe(INSERT_KEY, ...row);
      if (!live) await actsFor(transaction, `key:${name}`, party);
      else if (party != null && party !== live.party) throw otherParty(name, live.party, party);
    });
    const made = (await this.list()).find((key) => key.prefix === prefix);
    if (!made) throw notFound(`API key ${prefix}`);
    return { ...made, key: text };
  }

  /** Ends a key at once; its row stays. A key already revoked stays unchanged. */
  async revoke(prefix: string): Promise<void> {
    const { projectId, project, actor: revokedBy } = scope();
    await this.database.ofProject(async (transaction) => {
      if (!(await transaction.apiKey.findFirst({ where: { projectId, prefix }, select: { id: true } })))
        throw notFound(`API key ${prefix} in project ${project}`);
      await transaction.$executeRawUnsafe(REVOKE, projectId, prefix, revokedBy);
    });
  }
}

/** Error for a key that would make its subject act for another party. */
const otherParty = (name: string, acts: string | null, party: string): Error =>
  faulty('conflict', [
    {
      in: 'body',
      pointer: '/party',
      value: party,
      detail: `a live key named ${name} acts for ${acts === null ? 'no party' : `party ${acts}`}: another key of that name must act for the same party; revoke the live key first, or use another name`,
    },
  ]);

const faultsOf = (
  scopes: ApiKeyInput['scopes'],
  createdAt: Date,
  ends: Date,
  value: string | undefined,
): Fault[] => {
  const faults: Fault[] = scopes.flatMap((permission, at) => {
    const detail = scopeFault(permission);
    return detail === undefined ? [] : [{ in: 'body', pointer: `/scopes/${at}`, value: permission, detail }];
  });
  const term = ends.getTime() - createdAt.getTime();
  if (term <= 0 || term > MAX_DAYS * DAY_MS) {
    const detail = `expiresAt ${value} must lie in the future, at most ${MAX_DAYS} days ahead`;
    faults.push({ in: 'body', pointer: '/expiresAt', value, detail });
  }
  return faults;
};
