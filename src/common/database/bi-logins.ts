import { randomBytes } from 'node:crypto';
import pg from 'pg';
import { inTransaction } from './in-transaction.js';
import { BI_ROLE, NEW_ROLE } from './roles.js';
import { scramVerifier } from './scram.js';
import { sqlStateOf } from './sql-error.js';

// Database logins for BI: each reads the reports of the projects granted to it, and writes nothing. They are roles of the
// database server; the projects are rows of bi_grant, which row-level security checks (see rights.ts).

/** What is wrong with a text as the name of a BI login; undefined: nothing. */
export const loginFault = (name: string): string | undefined =>
  /^[a-z][a-z0-9_]{0,62}$/.test(name) && !/^(pg_|drivebook)/.test(name)
    ? undefined
    : 'must be 1 to 63 lower-case letters, digits and underscores, begin with a letter, and not begin with "pg_" or "drivebook"';

export interface BiLimits {
  /** Default time limit of a statement; the login may set another. [s] */
  timeoutS: number;
  /** Maximum number of connections. */
  connections: number;
}

const DEFAULT_LIMITS: BiLimits = { timeoutS: 60, connections: 10 };

export interface BiGrant {
  login: string;
  project: string;
  grantedBy: string;
  grantedAt: string;
}

/** A login and a project, and who grants or revokes it, for the history. */
export interface BiLoginRequest {
  login: string;
  project: string;
  actor: string;
}

const id = pg.escapeIdentifier;

const verifierOf = (password: string): string => pg.escapeLiteral(scramVerifier(password));

const newPassword = (): string => randomBytes(24).toString('base64url');

/** insufficient_privilege; undefined_object: the owner could not create the role that the logins are members of */
const LACKING = new Set(['42501', '42704']);

/** @throws Error with the SQL for a superuser, where the owner lacks the right */
const withSuperuserHint = async (work: () => Promise<unknown>, instead: string[]): Promise<void> => {
  try {
    await work();
  } catch (error) {
    if (!LACKING.has(sqlStateOf(error) ?? '')) throw error;
    throw new Error(
      `The database owner may not manage this login. As a superuser, run those of these statements that are still needed, then repeat the command:\n\n${instead
        .map((sql) => `  ${sql};`)
        .join('\n')}\n\ndocs/operations/database-roles.md explains it.`,
      { cause: error },
    );
  }
};

/** Whether the role of this name is a BI login; undefined: there is no such role. */
const isLoginForBi = async (client: pg.Client, login: string): Promise<boolean | undefined> => {
  const { rows } = await client.query<{ is: boolean }>(
    `select exists (select from pg_auth_members m join pg_roles b on b.oid = m.roleid where m.member = r.oid and b.rolname = '${BI_ROLE}')
        and not (r.rolsuper or r.rolbypassrls or r.rolcreaterole) as is
      from pg_roles r where r.rolname = $1`,
    [login],
  );
  return rows[0]?.is;
};

const projectId = async (client: pg.Client, code: string): Promise<number> => {
  const { rows } = await client.query<{ id: number }>('select id from project where code = $1', [code]);
  if (!rows[0]) throw new Error(`There is no project ${code}.`);
  return rows[0].id;
};

/** The settings from which the history takes the actor and the project of a change. */
const enterChange = (client: pg.Client, project: number, actor: string): Promise<unknown> =>
  client.query(
    `select set_config('drivebook.project', $1, true), set_config('drivebook.actor', $2, true), set_config('drivebook.credential', 'command', true)`,
    [String(project), actor],
  );

const limiting = (login: string, { timeoutS, connections }: Partial<BiLimits>): string[] => [
  ...(connections === undefined ? [] : [`alter role ${id(login)} connection limit ${connections}`]),
  ...(timeoutS === undefined
    ? []
    : ['statement_timeout', 'idle_in_transaction_session_timeout'].map(
        (setting) => `alter role ${id(login)} set ${setting} = '${timeoutS}s'`,
      )),
];

/** Defaults of its sessions. PostgreSQL lets a login change its own, so a grant sets them again. */
const holding = (login: string): string[] => [
  `alter role ${id(login)} set default_transaction_read_only = on`,
  `alter role ${id(login)} set jit = off`, // as in the service's own sessions
];

/** Whether they are set; an owner that may not change logins need not do so then. */
const isHeld = async (client: pg.Client, login: string): Promise<boolean> => {
  const { rows } = await client.query<{ is: boolean }>(
    `select coalesce(rolconfig @> '{default_transaction_read_only=on,jit=off}', false) as is from pg_roles where rolname = $1`,
    [login],
  );
  return rows[0]?.is ?? false;
};

const create = async (client: pg.Client, login: string): Promise<string> => {
  const password = newPassword();
  const made = (secret: string): string[] => [
    `create role ${id(login)} login inherit ${NEW_ROLE} password ${secret}`,
    `grant ${BI_ROLE} to ${id(login)}`,
  ];
  await withSuperuserHint(async () => {
    for (const sql of made(verifierOf(password))) await client.query(sql);
  }, [
    `create role ${BI_ROLE} nologin ${NEW_ROLE}`,
    ...made(`'…'`),
    ...holding(login),
    ...limiting(login, DEFAULT_LIMITS),
  ]);
  return password;
};

/**
 * Lets a login read the record of a project, and creates the login if it does not exist.
 * @param client  connected as the owner of the tables
 * @param limits  those to change; a new login gets one minute and ten connections unless given here
 * @returns the password of a newly created login
 * @throws Error when the project does not exist, the name is that of another role, or the owner may not create logins
 */
export const grantBi = (
  client: pg.Client,
  { login, project, actor }: BiLoginRequest,
  limits: Partial<BiLimits>,
): Promise<string | undefined> =>
  inTransaction(client, async () => {
    const granted = await projectId(client, project);
    const isOurs = await isLoginForBi(client, login);
    if (isOurs === false)
      throw new Error(`${login} is already a role of this database server: choose another name.`);
    const password = isOurs ? undefined : await create(client, login);
    const changes = [
      ...((await isHeld(client, login)) ? [] : holding(login)),
      ...limiting(login, isOurs ? limits : { ...DEFAULT_LIMITS, ...limits }),
    ];
    await withSuperuserHint(async () => {
      for (const sql of changes) await client.query(sql);
    }, changes);
    await enterChange(client, granted, actor);
    await client.query('insert into bi_grant (project_id, login) values ($1, $2) on conflict do nothing', [
      granted,
      login,
    ]);
    return password;
  });

/** Ends the connections of a login to this database if the owner may do so; otherwise a running statement ends at its time limit. */
const disconnect = async (client: pg.Client, login: string): Promise<void> => {
  try {
    await client.query(
      'select pg_terminate_backend(pid) from pg_stat_activity where usename = $1 and datname = current_database()',
      [login],
    );
  } catch (error) {
    if (!LACKING.has(sqlStateOf(error) ?? '')) throw error;
  }
};

/** @returns whether the login had access to the project */
const takeProject = (client: pg.Client, login: string, project: number, actor: string): Promise<boolean> =>
  inTransaction(client, async () => {
    await enterChange(client, project, actor);
    const taken = await client.query('delete from bi_grant where project_id = $1 and login = $2', [
      project,
      login,
    ]);
    return taken.rowCount === 1;
  });

/**
 * Revokes a login's access to the record of a project, at once: its connections are terminated.
 * @param client  connected as the owner of the tables
 * @throws Error when it has no access to the project
 */
export const revokeBi = async (
  client: pg.Client,
  { login, project, actor }: BiLoginRequest,
): Promise<void> => {
  if (!(await takeProject(client, login, await projectId(client, project), actor)))
    throw new Error(`${login} does not read project ${project}.`);
  await disconnect(client, login);
};

/** @throws Error */
const assertLoginForBi = async (client: pg.Client, login: string): Promise<void> => {
  if (!(await isLoginForBi(client, login))) throw new Error(`There is no BI login ${login}.`);
};

/**
 * Removes a login with all its grants in this database. If it fails half-way, calling it again removes the rest.
 * @param client  connected as the owner of the tables
 * @throws Error when it does not exist, or the owner may not drop it
 */
export const removeBi = async (
  client: pg.Client,
  { login, actor }: Omit<BiLoginRequest, 'project'>,
): Promise<void> => {
  await assertLoginForBi(client, login);
  const drop = `drop role ${id(login)}`;
  await withSuperuserHint(() => client.query(`alter role ${id(login)} nologin`), [drop]);
  const { rows } = await client.query<{ project: number }>(
    'select project_id as project from bi_grant where login = $1 order by 1',
    [login],
  );
  for (const { project } of rows) await takeProject(client, login, project, actor);
  await disconnect(client, login); // while its connections can still be identified
  await withSuperuserHint(() => client.query(drop), [drop]);
};

/**
 * Sets a new password for a login.
 * @param client  connected as the owner of the tables
 * @returns the password
 * @throws Error when the login does not exist, or the owner may not change it
 */
export const passwordOfBi = async (client: pg.Client, login: string): Promise<string> => {
  await assertLoginForBi(client, login);
  const password = newPassword();
  const alter = (secret: string): string => `alter role ${id(login)} password ${secret}`;
  await withSuperuserHint(() => client.query(alter(verifierOf(password))), [alter(`'…'`)]);
  return password;
};

const GRANTS = `select g.login, p.code as project, g.granted_by as "grantedBy",
  to_char(g.granted_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"') as "grantedAt"
  from bi_grant g join project p on p.id = g.project_id order by g.login collate "C", p.code collate "C"`;

/** All grants: which login reads which project. @param client  connected as the owner of the tables */
export const grantsOfBi = async (client: pg.Client): Promise<BiGrant[]> =>
  (await client.query<BiGrant>(GRANTS)).rows;
