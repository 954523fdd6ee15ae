import pg from 'pg';
import { APP_ROLE } from './roles.js';
import { connectionError, ServiceClient } from './service-client.js';

export interface StatementLimits {
  statementTimeoutMs: number;
  lockTimeoutMs: number;
  /** For a light reading, where that is shorter. */
  lightTimeoutMs: number;
  /** For a reading as of a moment. */
  asOfTimeoutMs: number;
  /** For waiting for a connection. */
  queueTimeoutMs: number;
}

/** A transaction whose service has gone silent keeps its locks no longer than this. [ms] */
export const IDLE_IN_TRANSACTION_MS = 15_000;

/** The server drops a connection after this time without traffic or acknowledgement. [s] */
const SERVER_PATIENCE_S = 15;

/** Settings that every statement relies on. */
const GROUND: Record<string, string> = {
  role: APP_ROLE,
  search_path: 'report,public',
  TimeZone: 'UTC',
  jit: 'off', // decision 88
};

const set = (settings: Record<string, string | number>, local: boolean): string =>
  Object.entries(settings)
    .map(([name, value]) => `set_config('${name}', '${value}', ${local})`)
    .join(', ');

/**
 * Calls that apply these settings to a transaction, sent with its beginning: whatever a pooler has done to the session, the
 * transaction works as the service's role.
 */
export const SET_GROUND = set(GROUND, true);

/**
 * Moments are written with the offset of the project's time zone at that moment, so a write answers the same as a reading.
 * @param projectId  as SQL
 */
export const inZone = (projectId: string): string =>
  `set_config('TimeZone', coalesce(public.time_zone_of(${projectId}), 'UTC'), true)`;

const sessionSettings = (limits?: StatementLimits): Record<string, string | number> => ({
  ...GROUND,
  tcp_keepalives_idle: SERVER_PATIENCE_S / 3,
  tcp_keepalives_interval: SERVER_PATIENCE_S / 3,
  tcp_keepalives_count: 2,
  tcp_user_timeout: SERVER_PATIENCE_S * 1000,
  ...(limits && {
    statement_timeout: limits.statementTimeoutMs,
    lock_timeout: limits.lockTimeoutMs,
    idle_in_transaction_session_timeout: IDLE_IN_TRANSACTION_MS,
  }),
});

/** Cancels a statement, but never a commit, when its service has disconnected; a server on Windows cannot detect that. */
const NOTICE_LOSS = `select set_config('client_connection_check_interval', '2000', false) where version() ~ 'linux|darwin|bsd'`;

interface Standing {
  backend: number;
  standby: boolean;
  role: string;
  unbound: boolean;
  /** Tables of the record owned by the role, or by a role of which it is a member. */
  owned: string | null;
  /** Tables that it can read without row-level security. */
  open: string | null;
  /** Whether a query without a scope sees a project. */
  sees: boolean;
}

const STANDING = `select pg_backend_pid() as backend, pg_is_in_recovery() as standby, current_user::text as role,
    (select rolsuper or rolbypassrls from pg_roles where rolname = current_user) as unbound,
    min(c.relname) filter (where pg_has_role(c.relowner, 'usage')) as owned,
    min(c.relname) filter (where has_table_privilege(c.oid, 'select') and not row_security_active(c.oid)) as open,
    exists (select from public.project) as sees
  from pg_class c where c.relkind in ('r', 'p') and c.relnamespace in (select oid from pg_namespace where nspname in ('public', 'history', 'kept'))`;

const NO_RIGHT = '42501';

/** What is wrong with the session, as a sentence; undefined: nothing. */
const faultOf = ({ role, unbound, owned, open, sees }: Standing): string | undefined => {
  if (role !== APP_ROLE) return `its session works as ${role}, not as ${APP_ROLE}`;
  if (unbound) return `${APP_ROLE} is a superuser or bypasses row security`;
  if (owned) return `${APP_ROLE} acts as the owner of table ${owned}`;
  if (open) return `row security is not active for ${APP_ROLE} on table ${open}`;
  return sees ? 'a query without a scope sees the record' : undefined;
};

/**
 * Sets up a new session, and verifies that it works as the service's role and is confined to its scope, before it is used.
 * Nothing is left to the startup options of the connection, which a pooler may drop.
 * @returns the number of its server process
 * @throws DatabaseError of class 08 when the session must not be used
 */
export const openSession = async (client: pg.ClientBase, limits?: StatementLimits): Promise<number> => {
  const settings = set(sessionSettings(limits), false);
  let standing: Standing | undefined;
  try {
    const results = (await client.query(
      `select ${settings}; ${NOTICE_LOSS}; ${STANDING}`,
    )) as unknown as pg.QueryResult[];
    standing = results.at(-1)?.rows[0] as Standing | undefined;
  } catch (error) {
    if (!(error instanceof pg.DatabaseError) || error.code !== NO_RIGHT) throw error;
    const cure = `as the owner, run "grant ${APP_ROLE} to" that user`;
    throw connectionError('08004', `The user of DATABASE_URL may not work as ${APP_ROLE}: ${cure}.`, error);
  }
  if (!standing) throw connectionError('08006', 'The database did not answer as PostgreSQL does.');
  const fault = faultOf(standing);
  if (fault)
    throw connectionError(
      '08004',
      `The database does not hold the service to its scope: ${fault}. Nothing is served.`,
    );
  if (standing.standby)
    throw connectionError('08004', 'The database is a standby: the service works on the primary.');
  return standing.backend;
};

const backendOf = async (client: pg.Client): Promise<number> =>
  (await client.query<{ pid: number }>('select pg_backend_pid() as pid')).rows[0]?.pid ?? 0;

/**
 * Detects a pooler that pools by transaction or statement and so lends one server process to two sessions.
 * @throws Error in one sentence when there is one
 */
export const refuseSharedSessions = async (url: string, variable: string): Promise<void> => {
  const first = new ServiceClient({ connectionString: url });
  const second = new ServiceClient({ connectionString: url });
  try {
    await first.connect();
    await second.connect();
    const seen = [await backendOf(first), await backendOf(first)];
    await second.query('begin');
    const other = await backendOf(second);
    seen.push(await backendOf(first));
    if (new Set(seen).size === 1 && !seen.includes(other)) return;
  } catch (error) {
    if (!/statement pooling/.test((error as Error).message)) throw error;
  } finally {
    await Promise.all([first.end(), second.end()]);
  }
  throw new Error(
    `${variable} leads to a pooler that gives each transaction another session: let it pool by session (PgBouncer: pool_mode = session), or connect to PostgreSQL itself.`,
  );
};
