import 'reflect-metadata';
import path from 'node:path';
import { Expose, plainToInstance, Transform } from 'class-transformer';
import { IsIn, IsInt, IsOptional, Matches, Max, Min, MinLength, validateSync } from 'class-validator';
import { packageRoot } from '../package-root.js';

export const LOG_LEVELS = ['fatal', 'error', 'warn', 'info', 'debug', 'trace', 'silent'] as const;
export type LogLevel = (typeof LOG_LEVELS)[number];

const ORIGINS = /^https?:\/\/[^\s/,]+(,https?:\/\/[^\s/,]+)*$/;
const POSTGRES_URL = /^postgres(ql)?:\/\/[^\s/?#]+/;

/** Only digits make a number here: Number() would also take '0x10', '1e3' and ' 5 '. */
const WholeNumber = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) =>
    typeof value === 'string' && /^-?\d+$/.test(value) ? Number(value) : value,
  );

/** The environment variables the service reads, with their rules. */
class Environment {
  @Expose()
  @IsOptional()
  @Matches(POSTGRES_URL, { message: 'must begin with postgres:// or postgresql:// and name a host' })
  DATABASE_URL?: string;

  @Expose()
  @IsOptional()
  @MinLength(1)
  DATA_DIR?: string;

  @Expose()
  @Matches(/^\S+$/, { message: 'must be a host name or an address' })
  HOST = '127.0.0.1';

  @Expose()
  @WholeNumber()
  @IsInt({ message: 'must be a whole number' })
  @Min(0, { message: 'must be from 0 (any free port) to 65535' })
  @Max(65_535, { message: 'must be from 0 (any free port) to 65535' })
  PORT = 3000;

  @Expose()
  @IsIn(LOG_LEVELS, { message: `must be one of ${LOG_LEVELS.join(', ')}` })
  LOG_LEVEL: LogLevel = 'info';

  @Expose()
  @WholeNumber()
  @IsInt({ message: 'must be a whole number' })
  @Min(1, { message: 'must be from 1 to 100' })
  @Max(100, { message: 'must be from 1 to 100' })
  DATABASE_POOL_SIZE = 10;

  @Expose()
  @WholeNumber()
  @IsInt({ message: 'must be a whole number' })
  @Min(100, { message: 'must be from 100 to 600000' })
  @Max(600_000, { message: 'must be from 100 to 600000' })
  DATABASE_STATEMENT_TIMEOUT_MS = 30_000;

  @Expose()
  @WholeNumber()
  @IsInt({ message: 'must be a whole number' })
  @Min(100, { message: 'must be from 100 to 600000' })
  @Max(600_000, { message: 'must be from 100 to 600000' })
  DATABASE_LOCK_TIMEOUT_MS = 10_000;

  @Expose()
  @Matches(ORIGINS, { message: 'must be origins such as https://office.example, with commas between' })
  @IsOptional()
  CORS_ORIGINS?: string;
}

/** How the service runs. Also the token to inject it by. */
export class Config {
  /** The PostgreSQL to use; undefined: the embedded one. */
  readonly databaseUrl: string | undefined;
  /** The folder of the embedded PostgreSQL, absolute. */
  readonly dataDir: string;
  /** Whether DATA_DIR named that folder. */
  readonly dataDirChosen: boolean;
  readonly host: string;
  /** 0: any free port. */
  readonly port: number;
  readonly logLevel: LogLevel;
  /** The most connections to the database at once. */
  readonly databasePoolSize: number;
  /** A statement that takes longer is broken off. [ms] */
  readonly statementTimeoutMs: number;
  /** A statement that waits longer for another's lock is broken off. [ms] */
  readonly lockTimeoutMs: number;
  /** Origins whose pages may read the answers; none: no page but the service's own. */
  readonly corsOrigins: string[];
}

/** These may hold a password: a fault in them is told without the value. */
const SECRET = new Set(['DATABASE_URL']);

const NUMBERS_FIRST = ['isInt', 'min', 'max'];

/** One rule a variable: a text that is no number breaks the range rules too, and saying so once is enough. */
function firstRule(constraints: Record<string, string>): string {
  const key = NUMBERS_FIRST.find((name) => name in constraints) ?? Object.keys(constraints)[0] ?? '';
  return constraints[key] ?? 'is not valid';
}

/**
 * Reads the settings from environment variables; an empty variable counts as unset. `data` beside package.json is
 * the default data folder; DATA_DIR is read from the working directory.
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
  const faults = validateSync(read).map(({ property, constraints = {} }) => {
    const value = SECRET.has(property) ? 'its value (not shown)' : JSON.stringify(env[property]);
    return `  ${property}: ${value} ${firstRule(constraints)}`;
  });
  if (faults.length > 0) throw new Error(`The environment is not valid:\n${faults.join('\n')}`);
  return {
    databaseUrl: read.DATABASE_URL,
    dataDir: read.DATA_DIR ? path.resolve(read.DATA_DIR) : path.join(packageRoot, 'data'),
    dataDirChosen: read.DATA_DIR !== undefined,
    host: read.HOST,
    port: read.PORT,
    logLevel: read.LOG_LEVEL,
    databasePoolSize: read.DATABASE_POOL_SIZE,
    statementTimeoutMs: read.DATABASE_STATEMENT_TIMEOUT_MS,
    lockTimeoutMs: read.DATABASE_LOCK_TIMEOUT_MS,
    corsOrigins: read.CORS_ORIGINS?.split(',') ?? [],
  };
}
