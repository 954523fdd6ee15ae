import pg from 'pg';
import { APP_ROLE } from './roles.js';
import { connectionError, ServiceClient } from './service-client.js';

export interface StatementLimits {
  statementTimeoutMs: number;
  lockTimeoutMs: number;
  /** Of a light reading, where that is shorter. */
  lightTimeoutMs: number;
  /** Of a reading as of a moment. */
  asOfTimeoutMs: number;
  /** Of the wait for a connection. */
  queueTimeoutMs: number;
}

/** A transaction whose service has fallen silent holds its locks no longer than that. [ms] */
export const IDLE_IN_TRANSACTION_MS = 15_000;

/** The server gives up a connection on which it has heard nothing, or was not acknowledged, for so long. [s] */
const SERVER_PATIENCE_S = 15;

/** What every statement relies on. */
const GROUND: Record<string, string> = { role: APP_ROLE, search_path: 'report,public', TimeZone: 'UTC' };

const set = (settings: Record<string, string | number>, local: boolean): string =>
  Object.entries(settings)
    .map(([name, value]) => `set_config('${name}', '${value}', ${local})`)
    .join(', ');

/**
 * Calls that put a transaction on its ground, to be sent with its beginning: whatever a pooler has made of the session,
 * the transaction works as the service's role.
 */
export const SET_GROUND = set(GROUND, true);

/**
 * Moments are written with the offset that the project's time zone has then: what a write answers is what a reading would.
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

/** A statement whose service has gone is cancelled, never in its commit; a server on Windows cannot notice it. */
const NOTICE_LOSS = `select set_config('client_connection_check_interval', '2000', false) where version() ~ 'linux|darwin|bsd'`;

interface Standing {
  backend: number;
  standby: boolean;
  role: string;
  unbound: boolean;
  /** Tables of the record that belong to the role, or to one that it is a member of. */
  owned: string | null;
  /** Tables that it may read without row security. */
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
 * Sets a new session up, and proves that it works as the service's role and is held to its scope, before anything else
 * is asked of it. Nothing is left to the options of the connection's start, which a pooler may drop.
 * @returns the number of its server process
 * @throws DatabaseError of class 08 when it may not be used
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
 * Finds out whether a session is one: a pooler that pools by transaction or statement lends the same server process to two.
 * @throws Error in one sentence when it is not
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
