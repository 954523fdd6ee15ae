import type { Command } from 'commander';
import type pg from 'pg';
import { codeFault } from '../common/api/fields.js';
import { apiKeyPepper } from '../common/auth/api-keys.js';
import { KEY_SUBJECT } from '../common/auth/principal.js';
import { type Config, loadConfig } from '../common/config/config.js';
import { INSTALLATION_SCOPES } from '../features/site/api-keys/key-scopes.js';
import { DAY_MS, INSERT_KEY, MAX_DAYS, newKey } from '../features/site/api-keys/new-key.js';
import { subjectFault } from '../features/site/members/subject.js';
import { type AddCommand, checked, notes, ON_DATABASE, wholeNumber } from './command.js';
import { asOwner, commandDatabase } from './command-database.js';
import { commandActor } from './command-scope.js';

const DEFAULT_DAYS = 30;

/** An action on a connection as the owner. @returns the text to print */
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
    if (rowCount === 0) throw new Error(`${subject} is not an administrator of the installation.`);
    return `${subject} is no longer an administrator of the installation.`;
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
    if (!clock) throw new Error('PostgreSQL did not return the time.');
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
    return `${text}\nThe key of ${KEY_SUBJECT}${name} for every project, until ${expiresAt.toISOString()}. It is shown only this once and not stored: save it now.`;
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

/** What may come before the service has run: a first administrator or key. */
const FIRST = { creates: true };

const done = async (work: Work, creating = {}): Promise<number> => {
  const config = loadConfig();
  const ready = await commandDatabase(config, creating);
  try {
    const settings = { ...config, dataDir: ready.dataDir ?? config.dataDir };
    process.stdout.write(`${await asOwner(ready, (client) => work(client, settings))}\n`);
    return 0;
  } finally {
    await ready.stop();
  }
};

const NOTES = `Examples:
  drivebook administrator add 248289761001
  drivebook administrator key loader --days 90

A running service applies the change within 2 s. A key needs the API_KEY_PEPPER of the service, or its file
in the data folder.
${ON_DATABASE}`;

/** `drivebook administrator`: administrators of the installation, by token and by key. */
export const addAdministrator: AddCommand = (program, finish) => {
  const command = program
    .command('administrator')
    .summary('who creates projects: people and API keys')
    .description('Administrators of the installation create projects and are administrators of each.');
  const addAction = (name: string, summary: string, description = summary): Command =>
    notes(command.command(name).summary(summary).description(description), NOTES);
  const SUBJECT = '"sub" of the access tokens, as their issuer writes it';
  addAction('add', 'make a subject an administrator')
    .argument('<subject>', SUBJECT, checked(subjectFault))
    .action(async (subject: string) => finish(await done(add(subject), FIRST)));
  addAction('remove', 'revoke that')
    .argument('<subject>', SUBJECT)
    .action(async (subject: string) => finish(await done(remove(subject))));
  addAction('list', 'print the administrators and the live keys of the installation').action(async () =>
    finish(await done(list)),
  );
  addAction(
    'key',
    'create an API key for every project, and print it',
    'Creates an API key for every project, and prints it once; its subject is "key:" and the name. It may do everything except countersign, reopen and certify, which only people can do. Two keys of one name may be live at once, so that one can replace the other.',
  )
    .argument('<name>', 'name of the key', checked(codeFault))
    .option('--days <n>', 'how long the key lives', wholeNumber(1, MAX_DAYS), DEFAULT_DAYS)
    .action(async (name: string, { days }: { days: number }) => finish(await done(key(name, days), FIRST)));
  addAction('revoke', 'revoke such a key')
    .argument('<prefix>', 'its part after "dbk_"')
    .action(async (prefix: string) => finish(await done(revoke(prefix))));
};
