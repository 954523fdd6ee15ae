import pg from 'pg';
import { scramVerifier } from './scram.js';
import { sqlStateOf } from './sql-error.js';

/** The role as which the service works: it owns nothing and sees only its scope. */
export const APP_ROLE = 'drivebook_app';

/** The login of the service on an embedded database: it may become APP_ROLE and nothing else. */
export const SERVICE_LOGIN = 'drivebook_service';

/** Reads the record and its reports by SQL, for all projects; writes nothing. */
export const READER_ROLE = 'drivebook_reader';

/** The group role of the BI logins: each reads the projects granted to it; see `bi-logins.ts`. */
export const BI_ROLE = 'drivebook_bi';

export interface Login {
  name: string;
  password: string;
}

/** The login of a database URL; without a name in it, the default of the pg library. */
export const loginOf = (url: string): Login => {
  const { username, password } = new URL(url);
  const name = decodeURIComponent(username) || process.env.PGUSER || pg.defaults.user || '';
  return { name, password: decodeURIComponent(password) };
};

/** The same URL with another login. */
export const byLogin = (url: string, { name, password }: Login): string =>
  Object.assign(new URL(url), {
    username: encodeURIComponent(name),
    password: encodeURIComponent(password),
  }).href;

export interface RolesWanted {
  /** The login of the service; undefined: the owner. Created if missing. */
  service?: Login;
  /** Logins of the embedded cluster: created if missing, with these passwords. */
  ours?: { service: Login; reader: Login };
}

/** insufficient_privilege; undefined_object, for a role that could not be created; feature_not_supported */
const LACKING = new Set(['42501', '42704', '0A000']);

/** duplicate_object and unique_violation: another start created it first. */
const THERE = new Set(['42710', '23505']);

export const NEW_ROLE = 'nosuperuser nobypassrls nocreatedb nocreaterole';

const PRINTABLE = /^[\x20-\x7e]+$/;

interface Standing {
  isReadOnly: boolean;
  owner: string;
  database: string;
  roles: string[];
  makesSchemas: boolean;
  makesTables: boolean;
  hasGist: boolean;
  /** Whether the owner, and the service's login, may become APP_ROLE. */
  ownerMay: boolean;
  serviceMay: boolean;
  /** Whether the service's login gains rights by RESET ROLE. */
  serviceExceeds: boolean;
}

/** Since PostgreSQL 16 a membership may exclude SET ROLE. */
const MAY_BECOME = `coalesce((select pg_has_role(r.oid, a.oid, case when current_setting('server_version_num')::int >= 160000 then 'SET' else 'MEMBER' end)
  from pg_roles r, pg_roles a where r.rolname = $1 and a.rolname = '${APP_ROLE}'), false)`;

const STANDING = `select current_setting('transaction_read_only')::boolean as "isReadOnly", current_user as owner, current_database() as database,
  array(select rolname::text from pg_roles where rolname in ('${APP_ROLE}', '${READER_ROLE}', '${BI_ROLE}', $1)) as roles,
  has_database_privilege(current_database(), 'create') as "makesSchemas", has_schema_privilege('public', 'create') as "makesTables",
  exists (select from pg_extension where extname = 'btree_gist')
    or exists (select from pg_available_extension_versions where name = 'btree_gist' and trusted) as "hasGist",
  ${MAY_BECOME.replace('$1', 'current_user')} as "ownerMay", ${MAY_BECOME} as "serviceMay",
  coalesce((select rolsuper or rolbypassrls or pg_has_role(oid, current_user, 'member') from pg_roles where rolname = $1), false) as "serviceExceeds"`;

/**
 * Prepares the roles of the database before it is migrated: creates and grants what the owner may, and reports the rest.
 * @returns whether the service's login gains nothing by RESET ROLE
 * @throws Error with all the SQL that a superuser has to run, or when the server takes no writes
 */
export async function prepareRoles(ownerUrl: string, wanted: RolesWanted): Promise<boolean> {
  const client = new pg.Client({ connectionString: ownerUrl });
  await client.connect();
  try {
    const login = wanted.ours?.service ?? wanted.service;
    const before = await standing(client, login?.name ?? '');
    if (before.isReadOnly)
      throw new Error(
        `The database ${before.database} takes no writes: its server is a standby, or read-only. Name the primary.`,
      );
    const lacking = await prepare(client, before, wanted);
    if (lacking.length > 0) throw new Error(lackingMessage(before, lacking));
    return login !== undefined && !before.serviceExceeds;
  } finally {
    await client.end();
  }
}

const standing = async (client: pg.Client, service: string): Promise<Standing> => {
  const [row] = (await client.query<Standing>(STANDING, [service])).rows;
  if (!row) throw new Error('PostgreSQL does not say who is connected.');
  return row;
};

const lackingMessage = ({ owner, database }: Standing, lacking: string[]): string =>
  `The database ${database} lacks roles or grants that its owner ${owner} cannot make. As a superuser, run in ${database}:\n\n${lacking
    .map((sql) => `  ${sql};`)
    .join('\n')}\n\ndocs/operations/database-roles.md explains them.`;

const prepare = async (
  client: pg.Client,
  { owner, database, roles, ...has }: Standing,
  { service, ours }: RolesWanted,
): Promise<string[]> => {
  const login = ours?.service ?? service;
  const lacking: string[] = [];
  /** @param shown  what to print instead of the statement; undefined: it is not needed */
  const run = async (sql: string, shown?: string): Promise<void> => {
    try {
      await client.query(sql);
    } catch (error) {
      const state = sqlStateOf(error) ?? '';
      if (THERE.has(state)) return;
      if (!LACKING.has(state)) throw error;
      if (shown !== undefined) lacking.push(shown);
    }
  };
  const id = pg.escapeIdentifier;
  if (!has.makesSchemas) lacking.push(`grant create on database ${id(database)} to ${id(owner)}`);
  if (!has.makesTables) lacking.push(`grant usage, create on schema public to ${id(owner)}`);
  if (!has.hasGist) lacking.push('create extension btree_gist');
  if (!roles.includes(APP_ROLE)) {
    const create = `create role ${APP_ROLE} nologin ${NEW_ROLE}`;
    await run(create, create);
  }
  for (const role of [READER_ROLE, BI_ROLE])
    if (!roles.includes(role)) await run(`create role ${role} nologin ${NEW_ROLE}`);
  if (!login) {
    const grant = `grant ${APP_ROLE} to ${id(owner)}`;
    if (!has.ownerMay) await run(grant, grant);
    return lacking;
  }
  if (!roles.includes(login.name)) {
    const create = `create role ${id(login.name)} login noinherit ${NEW_ROLE} password`;
    const shown = `${create} '…the password of DATABASE_URL…'`;
    if (PRINTABLE.test(login.password))
      await run(`${create} ${pg.escapeLiteral(scramVerifier(login.password))}`, shown);
    else lacking.push(shown);
  }
  const grant = `grant ${APP_ROLE} to ${id(login.name)}`;
  if (!has.serviceMay) await run(grant, grant);
  for (const { name, password } of ours ? [ours.service, ours.reader] : [])
    await client.query(`alter role ${id(name)} login password ${pg.escapeLiteral(scramVerifier(password))}`);
  return lacking;
};

/** How a released migration creates APP_ROLE, and what may replace it. */
const MAKING_ROLE = [
  [`CREATE ROLE ${APP_ROLE} NOLOGIN NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE;`, 'NULL;'],
  [`GRANT ${APP_ROLE} TO CURRENT_USER;`, ''],
] as const;

/** A migration without the creation of APP_ROLE: where the role exists, the owner need not have the right to create one. */
export const withoutMakingRole = (sql: string): string =>
  MAKING_ROLE.reduce((text, [statement, instead]) => text.replace(statement, instead), sql);
