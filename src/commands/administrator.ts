import { parseArgs } from 'node:util';
import pg from 'pg';
import { codeFault } from '../common/api/fields.js';
import { apiKeyPepper } from '../common/auth/api-keys.js';
import { KEY_SUBJECT } from '../common/auth/principal.js';
import { type Config, loadConfig } from '../common/config/config.js';
import { INSTALLATION_SCOPES } from '../features/api-keys/key-scopes.js';
import { DAY_MS, INSERT_KEY, MAX_DAYS, newKey } from '../features/api-keys/new-key.js';
import { subjectFault } from '../features/members/subject.js';
import { readyDatabase } from '../service.js';
import { command } from './command.js';
import { commandActor } from './command-scope.js';

const DEFAULT_DAYS = 30;

const USAGE = `drivebook administrator add SUBJECT
drivebook administrator remove SUBJECT
drivebook administrator list
drivebook administrator key NAME [--days N]
drivebook administrator revoke PREFIX

Administrators of the installation make projects and are administrators in each.

  add        makes a subject administrator: SUBJECT is "sub" of the access tokens, as their issuer writes it
  remove     takes that back; the running service knows within 2 s
  list       prints the administrators and the live keys of the installation
  key        makes an API key for every project and prints it; its subject is "key:" and NAME. It may do all but
             countersign, reopen and certify, which takes a person. Two keys of a name live at once, so that one can
             take the place of the other
  revoke     ends such a key, named by its part after "dbk_"; the running service knows within 2 s

  --days N   how long the key lives, 1 to ${MAX_DAYS} days; ${DEFAULT_DAYS} without

It works on the database of DATABASE_URL as the owner of the tables, not in the service's role; a key then needs the
API_KEY_PEPPER of the service. Without DATABASE_URL it works on the embedded database of DATA_DIR: stop the service
first, and start it again after.

Exit status: 0 done, 1 failed, 2 not understood.
`;

const OPTIONS = {
  days: { type: 'string' },
  help: { type: 'boolean', short: 'h' },
} as const;

/** What is done, on a connection as the owner. @returns what is said of it */
type Work = (client: pg.Client, config: Config) => Promise<string>;

const add =
  (subject: string): Work =>
  async (client) => {
    const { rowCount } = await client.query(
      'insert into administrator (subject) values ($1) on conflict do nothing',
      [subject],
    );
    return rowCount === 1
      ? `${subject} is an administrator of the installation now.`
      : `${subject} was an administrator of the installation already.`;
  };

const remove =
  (subject: string): Work =>
  async (client) => {
    const { rowCount } = await client.query('delete from administrator where subject = $1', [subject]);
    if (rowCount === 0) throw new Error(`${subject} is no administrator of the installation.`);
    return `${subject} is no administrator of the installation any more.`;
  };

const ADMINISTRATORS = 'select subject, added_at from administrator order by subject';
const LIVE_KEYS = `select name, prefix, created_by, expires_at from api_key
  where project_id is null and revoked_at is null and expires_at > now() order by name, created_at`;

const list: Work = async (client) => {
  const administrators = await client.query<{ subject: string; added_at: Date }>(ADMINISTRATORS);
  const keys = await client.query<{ name: string; prefix: string; created_by: string; expires_at: Date }>(
    LIVE_KEYS,
  );
  const lines = [
    ...administrators.rows.map(({ subject, added_at }) => `${subject}  since ${added_at.toISOString()}`),
    ...keys.rows.map(
      ({ name, prefix, created_by, expires_at }) =>
        `${KEY_SUBJECT}${name}  ${prefix}  by ${created_by}  until ${expires_at.toISOString()}`,
    ),
  ];
  return lines.length > 0 ? lines.join('\n') : 'The installation has no administrator and no key.';
};

const key =
  (name: string, days: number): Work =>
  async (client, config) => {
    const pepper = apiKeyPepper(config);
    if (pepper === undefined) throw new Error('A key needs the pepper of the service: set API_KEY_PEPPER.');
    const [clock] = (await client.query<{ now: Date }>('select clock_timestamp() as now')).rows;
    if (!clock) throw new Error('PostgreSQL did not say the time.');
    const createdAt = clock.now;
    const expiresAt = new Date(createdAt.getTime() + days * DAY_MS);
    const { text, row } = newKey(pepper, {
      projectId: null,
      name,
      scopes: INSTALLATION_SCOPES,
      createdBy: commandActor(),
      createdAt,
      expiresAt,
    });
    await client.query(INSERT_KEY, row);
    return `${text}\nThe key of ${KEY_SUBJECT}${name} for every project, until ${expiresAt.toISOString()}. It is shown this once and not kept: store it now.`;
  };

const REVOKE = `update api_key set revoked_at = coalesce(revoked_at, clock_timestamp()), revoked_by = coalesce(revoked_by, $2)
  where project_id is null and prefix = $1`;

const revoke =
  (prefix: string): Work =>
  async (client) => {
    const { rowCount } = await client.query(REVOKE, [prefix, commandActor()]);
    if (rowCount === 0) throw new Error(`There is no key ${prefix} of the whole installation.`);
    return `The key ${prefix} is revoked.`;
  };

const daysOf = (text: string): number => {
  const days = /^\d+$/.test(text) ? Number(text) : 0;
  if (days < 1 || days > MAX_DAYS) throw new Error(`--days must be a whole number from 1 to ${MAX_DAYS}.`);
  return days;
};

const fit = (what: string, text: string, faultOf: (text: string) => string | undefined): string => {
  const fault = faultOf(text);
  if (fault !== undefined) throw new Error(`${what} ${fault}.`);
  return text;
};

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): Work | undefined => {
  const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  if (values.help) return undefined;
  const [action = '', named, ...more] = positionals;
  const makers: Record<string, ((name: string) => Work) | undefined> = {
    add: (name) => add(fit('SUBJECT', name, subjectFault)),
    remove,
    key: (name) => key(fit('NAME', name, codeFault), daysOf(values.days ?? String(DEFAULT_DAYS))),
    revoke,
  };
  const make = Object.hasOwn(makers, action) ? makers[action] : undefined;
  if (!make && action !== 'list')
    throw new Error(`drivebook administrator takes add, remove, list, key or revoke, not "${action}".`);
  if (values.days !== undefined && action !== 'key') throw new Error('--days is for a key.');
  const surplus = make ? more : positionals.slice(1);
  if (surplus.length > 0) throw new Error(`"${surplus.join(' ')}" is too much.`);
  if (!make) return list;
  if (!named) throw new Error(`Say which one: drivebook administrator ${action} …`);
  return make(named);
};

const done = async (work: Work): Promise<number> => {
  const config = loadConfig();
  const ready = await readyDatabase(config);
  const client = new pg.Client({ connectionString: ready.ownerUrl });
  try {
    await client.connect();
    process.stdout.write(`${await work(client, { ...config, dataDir: ready.dataDir ?? config.dataDir })}\n`);
    return 0;
  } finally {
    await client.end();
    await ready.stop();
  }
};

/** `drivebook administrator`: who administers the installation, by token and by key. */
export const administrator = command(USAGE, understood, done);
