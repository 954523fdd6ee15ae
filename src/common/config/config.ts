import 'reflect-metadata';
import path from 'node:path';
import { applyDecorators } from '@nestjs/common';
import { Expose, plainToInstance, Transform } from 'class-transformer';
import {
  IsIn,
  IsInt,
  IsOptional,
  Matches,
  Max,
  Min,
  MinLength,
  ValidateBy,
  validateSync,
} from 'class-validator';
import { isLoopback, isPrivateUrl } from '../auth/loopback.js';
import { isTarget } from '../net/targets.js';
import { packageRoot } from '../package-root.js';
import type { JobConfig, WebhookConfig } from './background-config.js';

export const LOG_LEVELS = ['fatal', 'error', 'warn', 'info', 'debug', 'trace', 'silent'] as const;
export type LogLevel = (typeof LOG_LEVELS)[number];

export const AUTH_MODES = ['local', 'required'] as const;

/** Public-key JWS algorithms of RFC 7518 and 8037: a shared secret (HS…) or `none` does not prove the issuer (RFC 8725 section 3.1). */
const ALGORITHMS = 'RS256 RS384 RS512 PS256 PS384 PS512 ES256 ES384 ES512 EdDSA Ed25519'.split(' ');
const ALGORITHM = `(${ALGORITHMS.join('|')})`;
const ALGORITHM_LIST = new RegExp(`^${ALGORITHM}(,${ALGORITHM})*$`);

const ORIGINS = /^https?:\/\/[^\s/,]+(,https?:\/\/[^\s/,]+)*$/;
const PROXIES = /^[\da-f.:]+(\/\d{1,3})?(,[\da-f.:]+(\/\d{1,3})?)*$/i;
const SECONDS = /^\d{1,7}(,\d{1,7}){0,49}$/;
const POSTGRES_URL = /^postgres(ql)?:\/\/[^\s/?#]+/;

/** Digits only: Number() would also accept '0x10', '1e3' and ' 5 '. */
const Digits = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) =>
    typeof value === 'string' && /^-?\d+$/.test(value) ? Number(value) : value,
  );

/** @param least  meaning of the smallest value, where it is special */
const WholeNumber = (min: number, max: number, least?: string): PropertyDecorator => {
  const message = `must be from ${min}${least ? ` (${least})` : ''} to ${max}`;
  const rules = [IsInt({ message: 'must be a whole number' }), Min(min, { message }), Max(max, { message })];
  return applyDecorators(Digits(), ...rules);
};

/** An issuer identifier: RFC 8414 section 2, with plain HTTP for an issuer on this machine. */
const isIssuer = (value: unknown): boolean => {
  if (typeof value !== 'string' || /[?#\s]/.test(value) || !URL.canParse(value)) return false;
  const url = new URL(value);
  return isPrivateUrl(url) && url.username === '' && url.password === '';
};

/** The origin under which browsers reach the service: the issuer compares redirect URIs character by character. */
const isOrigin = (value: unknown): boolean => isIssuer(value) && new URL(value as string).origin === value;

const areTargets = (value: unknown): boolean =>
  typeof value === 'string' && value.toLowerCase().split(',').every(isTarget);

/** The environment variables that the service reads, with their rules. */
class Environment {
  @Expose()
  @IsOptional()
  @Matches(POSTGRES_URL, { message: 'must begin with postgres:// or postgresql:// and name a host' })
  DATABASE_URL?: string;

  @Expose()
  @IsOptional()
  @Matches(POSTGRES_URL, { message: 'must begin with postgres:// or postgresql:// and name a host' })
  DATABASE_OWNER_URL?: string;

  @Expose()
  @IsOptional()
  @MinLength(1)
  DATA_DIR?: string;

  @Expose()
  @IsOptional()
  @MinLength(1)
  ATTACHMENTS_DIR?: string;

  @Expose()
  @WholeNumber(1, 1000)
  ATTACHMENT_MAX_MB = 25;

  @Expose()
  @WholeNumber(1, 10_000_000)
  ATTACHMENT_QUOTA_MB = 10_240;

  @Expose()
  @WholeNumber(100, 600_000)
  BODY_IDLE_TIMEOUT_MS = 30_000;

  @Expose()
  @Matches(/^\S+$/, { message: 'must be a host name or an address' })
  HOST = '127.0.0.1';

  @Expose()
  @WholeNumber(0, 65_535, 'any free port')
  PORT = 3000;

  @Expose()
  @IsIn(LOG_LEVELS, { message: `must be one of ${LOG_LEVELS.join(', ')}` })
  LOG_LEVEL: LogLevel = 'info';

  @Expose()
  @WholeNumber(1, 100)
  DATABASE_POOL_SIZE = 10;

  @Expose()
  @WholeNumber(100, 600_000)
  DATABASE_STATEMENT_TIMEOUT_MS = 30_000;

  @Expose()
  @WholeNumber(100, 600_000)
  DATABASE_LIGHT_TIMEOUT_MS = 10_000;

  @Expose()
  @WholeNumber(100, 600_000)
  DATABASE_AS_OF_TIMEOUT_MS = 60_000;

  @Expose()
  @WholeNumber(100, 600_000)
  DATABASE_QUEUE_TIMEOUT_MS = 10_000;

  @Expose()
  @WholeNumber(100, 600_000)
  DATABASE_LOCK_TIMEOUT_MS = 10_000;

  @Expose()
  @WholeNumber(0, 600_000, 'each')
  JUDGEMENT_KEPT_FROM_MS = 250;

  @Expose()
  @WholeNumber(0, 86_400, 'never')
  ALERT_INTERVAL_S = 60;

  @Expose()
  @Matches(ORIGINS, { message: 'must be origins such as https://office.example, separated by commas' })
  @IsOptional()
  CORS_ORIGINS?: string;

  @Expose()
  @Matches(PROXIES, { message: 'must be addresses or networks such as 127.0.0.1,10.0.0.0/8' })
  @IsOptional()
  TRUST_PROXY?: string;

  @Expose()
  @WholeNumber(1000, 10_000_000)
  GRAPHQL_MAX_COST = 100_000;

  @Expose()
  @WholeNumber(0, 1000)
  GRAPHQL_MAX_ALIASES = 30;

  @Expose()
  @WholeNumber(0, 1_000_000, 'no limit')
  RATE_LIMIT_PER_MINUTE = 1200;

  @Expose()
  @WholeNumber(0, 10_000, 'no limit')
  AUTH_FAILURES_PER_MINUTE = 30;

  @Expose()
  @WholeNumber(1, 100_000)
  WS_CONNECTIONS_PER_ADDRESS = 100;

  @Expose()
  @WholeNumber(1, 10_000)
  WS_CONNECTIONS_PER_CALLER = 20;

  @Expose()
  @WholeNumber(1, 10_000)
  WS_SUBSCRIPTIONS_PER_CALLER = 100;

  @Expose()
  @WholeNumber(1, 3600)
  WS_PING_S = 20;

  @Expose()
  @Matches(/^\S+$/, { message: 'must be a host name or an address' })
  METRICS_HOST = '127.0.0.1';

  @Expose()
  @IsOptional()
  @WholeNumber(0, 65_535, 'any free port')
  METRICS_PORT?: number;

  @Expose()
  @IsIn(['on', 'off'], { message: 'must be on or off' })
  WEBHOOK_SENDING: 'on' | 'off' = 'on';

  @Expose()
  @Matches(SECONDS, { message: 'must be seconds such as 5,300,1800, separated by commas' })
  WEBHOOK_RETRY_S = '5,300,1800,7200,18000,36000,50400,72000,86400';

  @Expose()
  @WholeNumber(100, 60_000)
  WEBHOOK_TIMEOUT_MS = 20_000;

  @Expose()
  @WholeNumber(1, 3660)
  WEBHOOK_KEPT_DAYS = 30;

  @Expose()
  @ValidateBy(
    { name: 'areTargets', validator: { validate: areTargets } },
    {
      message:
        'must be hosts, addresses or networks such as board.site.example,10.1.0.0/16, separated by commas',
    },
  )
  @IsOptional()
  WEBHOOK_ALLOWED_TARGETS?: string;

  @Expose()
  @IsIn(['on', 'off'], { message: 'must be on or off' })
  JOBS: 'on' | 'off' = 'on';

  @Expose()
  @WholeNumber(1, 8760)
  JOB_KEPT_HOURS = 72;

  @Expose()
  @IsIn(AUTH_MODES, { message: `must be one of ${AUTH_MODES.join(', ')}` })
  AUTH: (typeof AUTH_MODES)[number] = 'local';

  @Expose()
  @IsOptional()
  @ValidateBy(
    { name: 'isIssuer', validator: { validate: isIssuer } },
    { message: 'must be an https URL (http only on this machine) without query or fragment' },
  )
  OIDC_ISSUER?: string;

  @Expose()
  @IsOptional()
  @Matches(/^\S+$/, { message: 'must be one name without spaces' })
  OIDC_AUDIENCE?: string;

  @Expose()
  @Matches(ALGORITHM_LIST, { message: `must name some of ${ALGORITHMS.join(', ')}, separated by commas` })
  OIDC_ALGORITHMS = 'RS256,PS256,ES256,EdDSA';

  @Expose()
  @IsOptional()
  @Matches(/^[!-~]{1,200}$/, { message: 'must be a client identifier without spaces' })
  OIDC_CLIENT_ID?: string;

  @Expose()
  @IsOptional()
  @Matches(/^[!-~]{16,500}$/, { message: 'must be 16 to 500 characters without spaces' })
  OIDC_CLIENT_SECRET?: string;

  @Expose()
  @Matches(/^(.* )?openid( .*)?$/, { message: 'must be scopes separated by spaces, openid among them' })
  OIDC_SCOPE = 'openid';

  @Expose()
  @IsOptional()
  @ValidateBy(
    { name: 'isOrigin', validator: { validate: isOrigin } },
    {
      message:
        'must be an https origin such as https://drivebook.example (http only on this machine), without a path',
    },
  )
  PUBLIC_URL?: string;

  @Expose()
  @IsOptional()
  @MinLength(32, { message: 'must have at least 32 characters' })
  API_KEY_PEPPER?: string;
}

/** Settings of the service. Also the token to inject them by. */
export class Config {
  /** The PostgreSQL to use; undefined: embedded. */
  readonly databaseUrl: string | undefined;
  /** The same database as the owner of its tables, for migrations and commands; undefined: as `databaseUrl`. */
  readonly databaseOwnerUrl?: string;
  /** The folder of the embedded PostgreSQL, absolute. */
  readonly dataDir: string;
  /** Whether DATA_DIR named that folder. */
  readonly dataDirChosen: boolean;
  /** The folder for the bytes of attachments, absolute, as configured; undefined: see `startService`. */
  readonly attachmentsDir?: string;
  /** The largest attachment. [MB] */
  readonly attachmentMaxMb: number;
  /** Limit on all attachments of a project, including removed ones, whose bytes are kept. [MB] */
  readonly attachmentQuotaMb: number;
  /** A body that stalls for that long is aborted. [ms] */
  readonly bodyIdleTimeoutMs: number;
  readonly host: string;
  /** 0: any free port. */
  readonly port: number;
  readonly logLevel: LogLevel;
  /** Maximum number of connections to the database. */
  readonly databasePoolSize: number;
  /** A statement that takes longer is cancelled. [ms] */
  readonly statementTimeoutMs: number;
  /** The same for a light reading, where that is shorter. [ms] */
  readonly lightTimeoutMs: number;
  /** The same for a reading as of a moment. [ms] */
  readonly asOfTimeoutMs: number;
  /** A request that waits longer for its turn at the database is refused. [ms] */
  readonly queueTimeoutMs: number;
  /** A statement that waits longer for a lock is cancelled. [ms] */
  readonly lockTimeoutMs: number;
  /** An assessment of a drive's support that takes at least this long is kept until it is out of date; 0: every one. [ms] */
  readonly judgementKeptFromMs: number;
  /** Interval at which alerts that depend on time alone are raised and cleared; 0: never. [s] */
  readonly alertIntervalS: number;
  /** Origins whose pages may read the answers; empty: only the service's own pages. */
  readonly corsOrigins: string[];
  /** Trusted proxies, which report the caller's address. */
  readonly trustProxy?: string[];
  /** Cost above which a GraphQL query is refused; see `graphql-limits.ts`. */
  readonly graphqlMaxCost: number;
  /** Number of aliases above which a GraphQL query is refused. */
  readonly graphqlMaxAliases: number;
  /** Requests per credential or address; 0: no limit. [1/min] */
  readonly rateLimitPerMinute: number;
  /** Refused credentials from one address before it must wait; 0: no limit. [1/min] */
  readonly authFailuresPerMinute: number;
  /** Limits on open connections for subscriptions, per address and per caller, and on subscriptions per caller. */
  readonly sockets: SocketLimits;
  /** Where metrics are served; undefined: not at all. */
  readonly metrics?: MetricsConfig;
  readonly webhooks: WebhookConfig;
  readonly jobs: JobConfig;
  /** local: runs without login; required: every request must authenticate. */
  readonly auth: (typeof AUTH_MODES)[number];
  /** Issuer of the accepted access tokens; undefined: none. */
  readonly oidc?: OidcConfig;
  /** Pepper of the keyed hash of API keys, as configured; undefined: see `apiKeyPepper`. */
  readonly apiKeyPepper?: string;
}

export interface SocketLimits {
  readonly connectionsPerAddress: number;
  readonly connectionsPerCaller: number;
  readonly subscriptionsPerCaller: number;
  /** Interval at which a connection must prove that it is alive and its credential valid. [s] */
  readonly pingS: number;
}

export interface MetricsConfig {
  readonly host: string;
  /** 0: any free port. */
  readonly port: number;
}

export interface OidcConfig {
  /** `iss` of the tokens; also the base of the issuer's metadata. */
  readonly issuer: string;
  /** The name of this service in `aud`. */
  readonly audience: string;
  /** Accepted JWS algorithms of tokens. */
  readonly algorithms: string[];
  /** The client used for browser sign-in; undefined: no browser sign-in. */
  readonly browser?: BrowserClient;
}

/** The service as a client of the issuer. */
export interface BrowserClient {
  readonly clientId: string;
  /** undefined: a public client. */
  readonly clientSecret?: string;
  readonly scope: string;
  readonly redirectUri: string;
}

/** Variables that may hold a secret: their faults are reported without the value. */
const SECRET = new Set(['DATABASE_URL', 'DATABASE_OWNER_URL', 'API_KEY_PEPPER', 'OIDC_CLIENT_SECRET']);

/** A value as configured, with any password in a URL hidden. */
const shown = (value: string | undefined): string =>
  JSON.stringify(value)?.replace(/(\/\/[^/@:]*):[^/@]*@/g, '$1:…@') ?? 'unset';

const NUMBERS_FIRST = ['isInt', 'min', 'max'];

/** One fault per variable: text that is not a number also breaks the range rules, and one message is enough. */
function firstRule(constraints: Record<string, string>): string {
  const key = NUMBERS_FIRST.find((name) => name in constraints) ?? Object.keys(constraints)[0] ?? '';
  return constraints[key] ?? 'is not valid';
}

/** Checks across variables: yields the variable at fault, and the rule. */
function* crossFaults({
  AUTH,
  HOST,
  OIDC_ISSUER,
  OIDC_AUDIENCE,
  OIDC_CLIENT_ID,
  OIDC_CLIENT_SECRET,
  PUBLIC_URL,
  API_KEY_PEPPER,
  DATABASE_URL,
  DATABASE_OWNER_URL,
  PORT,
  METRICS_PORT,
}: Environment): Generator<[string, string]> {
  if (AUTH === 'local' && !isLoopback(HOST))
    yield [
      'HOST',
      'must be 127.0.0.1, ::1 or localhost: AUTH=local runs without login, so it binds to loopback only; set AUTH=required to listen elsewhere',
    ];
  if (OIDC_ISSUER !== undefined && OIDC_AUDIENCE === undefined)
    yield ['OIDC_ISSUER', 'needs OIDC_AUDIENCE: the name of this service in the tokens'];
  if (OIDC_AUDIENCE !== undefined && OIDC_ISSUER === undefined)
    yield ['OIDC_AUDIENCE', 'needs OIDC_ISSUER: who issues the tokens'];
  if (OIDC_CLIENT_ID !== undefined && OIDC_ISSUER === undefined)
    yield ['OIDC_CLIENT_ID', 'needs OIDC_ISSUER: where it is a client'];
  if (OIDC_CLIENT_ID !== undefined && PUBLIC_URL === undefined)
    yield ['OIDC_CLIENT_ID', 'needs PUBLIC_URL: the issuer sends browsers back there'];
  if (OIDC_CLIENT_SECRET !== undefined && OIDC_CLIENT_ID === undefined)
    yield ['OIDC_CLIENT_SECRET', 'needs OIDC_CLIENT_ID: the client that the secret belongs to'];
  if (AUTH === 'required' && !OIDC_ISSUER && !API_KEY_PEPPER && DATABASE_URL)
    yield ['AUTH', 'needs OIDC_ISSUER or API_KEY_PEPPER: without either nobody can authenticate']; // the embedded database has a pepper
  if (DATABASE_OWNER_URL !== undefined && DATABASE_URL === undefined)
    yield ['DATABASE_OWNER_URL', 'needs DATABASE_URL: the same database as the login of the service'];
  if (METRICS_PORT === PORT && PORT !== 0) yield ['METRICS_PORT', 'must differ from PORT'];
}

/**
 * Reads the settings from environment variables; an empty variable counts as unset. The default data folder is `data` beside
 * package.json; DATA_DIR is relative to the working directory.
 * @throws Error that lists every variable at fault with its value (secrets left out) and its rule
 */
export function loadConfig(env: NodeJS.ProcessEnv = process.env): Config {
  const given = Object.fromEntries(
    Object.entries(env).filter(([, value]) => value !== undefined && value !== ''),
  );
  const read = plainToInstance(Environment, given, {
    excludeExtraneousValues: true,
    exposeDefaultValues: true,
  });
  const rules = new Map(
    validateSync(read).map(({ property, constraints = {} }) => [property, firstRule(constraints)]),
  );
  for (const [property, rule] of crossFaults(read)) if (!rules.has(property)) rules.set(property, rule);
  const faults = Array.from(rules, ([property, rule]) => {
    const value = SECRET.has(property) ? 'its value (not shown)' : shown(env[property]);
    return `  ${property}: ${value} ${rule}`;
  });
  if (faults.length > 0) throw new Error(`The environment is not valid:\n${faults.join('\n')}`);
  return {
    databaseUrl: read.DATABASE_URL,
    databaseOwnerUrl: read.DATABASE_OWNER_URL,
    dataDir: read.DATA_DIR ? path.resolve(read.DATA_DIR) : path.join(packageRoot, 'data'),
    dataDirChosen: read.DATA_DIR !== undefined,
    attachmentsDir: read.ATTACHMENTS_DIR && path.resolve(read.ATTACHMENTS_DIR),
    attachmentMaxMb: read.ATTACHMENT_MAX_MB,
    attachmentQuotaMb: read.ATTACHMENT_QUOTA_MB,
    bodyIdleTimeoutMs: read.BODY_IDLE_TIMEOUT_MS,
    host: read.HOST,
    port: read.PORT,
    logLevel: read.LOG_LEVEL,
    databasePoolSize: read.DATABASE_POOL_SIZE,
    statementTimeoutMs: read.DATABASE_STATEMENT_TIMEOUT_MS,
    lightTimeoutMs: read.DATABASE_LIGHT_TIMEOUT_MS,
    asOfTimeoutMs: read.DATABASE_AS_OF_TIMEOUT_MS,
    queueTimeoutMs: read.DATABASE_QUEUE_TIMEOUT_MS,
    lockTimeoutMs: read.DATABASE_LOCK_TIMEOUT_MS,
    judgementKeptFromMs: read.JUDGEMENT_KEPT_FROM_MS,
    alertIntervalS: read.ALERT_INTERVAL_S,
    corsOrigins: read.CORS_ORIGINS?.split(',') ?? [],
    trustProxy: read.TRUST_PROXY?.split(','),
    graphqlMaxCost: read.GRAPHQL_MAX_COST,
    graphqlMaxAliases: read.GRAPHQL_MAX_ALIASES,
    rateLimitPerMinute: read.RATE_LIMIT_PER_MINUTE,
    authFailuresPerMinute: read.AUTH_FAILURES_PER_MINUTE,
    sockets: {
      connectionsPerAddress: read.WS_CONNECTIONS_PER_ADDRESS,
      connectionsPerCaller: read.WS_CONNECTIONS_PER_CALLER,
      subscriptionsPerCaller: read.WS_SUBSCRIPTIONS_PER_CALLER,
      pingS: read.WS_PING_S,
    },
    metrics:
      read.METRICS_PORT === undefined ? undefined : { host: read.METRICS_HOST, port: read.METRICS_PORT },
    webhooks: {
      isSending: read.WEBHOOK_SENDING === 'on',
      retryS: read.WEBHOOK_RETRY_S.split(',').map(Number),
      timeoutMs: read.WEBHOOK_TIMEOUT_MS,
      keptDays: read.WEBHOOK_KEPT_DAYS,
      allowedTargets: read.WEBHOOK_ALLOWED_TARGETS?.toLowerCase().split(',') ?? [],
    },
    jobs: { isRunning: read.JOBS === 'on', keptHours: read.JOB_KEPT_HOURS },
    auth: read.AUTH,
    oidc:
      read.OIDC_ISSUER && read.OIDC_AUDIENCE
        ? {
            issuer: read.OIDC_ISSUER,
            audience: read.OIDC_AUDIENCE,
            algorithms: read.OIDC_ALGORITHMS.split(','),
            browser:
              read.OIDC_CLIENT_ID && read.PUBLIC_URL
                ? {
                    clientId: read.OIDC_CLIENT_ID,
                    clientSecret: read.OIDC_CLIENT_SECRET,
                    scope: read.OIDC_SCOPE,
                    redirectUri: `${read.PUBLIC_URL}/sign-in/callback`,
                  }
                : undefined,
          }
        : undefined,
    apiKeyPepper: read.API_KEY_PEPPER,
  };
}
