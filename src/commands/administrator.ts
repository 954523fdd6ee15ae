import type { Command } from 'commander';
import type pg from 'pg';
import { codeFault } from '../common/api/fields.js';
import { apiKeyPepper } from '../common/auth/api-keys.js';
import { KEY_SUBJECT } from '../common/auth/principal.js';
import { type Config, loadConfig } from '../common/config/config.js';
import { INSTALLATION_SCOPES } from '../features/site/api-keys/key-scopes.js';
import { DAY_MS, INSERT_KEY, MAX_DAYS, newKey } from '../features/site/api-keys/new-key.js';
import { subjectFault } from '../features/site/members/subject.js';
import { type AddCommand, checked, notes, ON_DATABASE, print, wholeNumber, withJson } from './command.js';
import { asOwner, commandDatabase } from './command-database.js';
import { commandActor } from './command-scope.js';

const DEFAULT_DAYS = 30;

/** An action on a connection as the owner. */
type Work = (client: pg.Client, config: Config) => Promise<{ result: object; inWords: string }>;

const add =
  (subject: string): Work =>
  async (client) => {
    const { rowCount } = await client.query(
      'insert into administrator (subject) values ($1) on conflict do nothing',
      [subject],
    );
    const added = rowCount === 1;
    return {
      result: { subject, added },
      inWords: added
        ? `${subject} is an administrator of the installation now.`
        : `${subject} was an administrator of the installation already.`,
    };
  };

const remove =
  (subject: string): Work =>
  async (client) => {
    const { rowCount } = await client.query('delete from administrator where subject = $1', [subject]);
    if (rowCount === 0) throw new Error(`${subject} is not an administrator of the installation.`);
    return {
      result: { removed: subject },
      inWords: `${subject} is no longer an administrator of the installation.`,
    };
  };

const ADMINISTRATORS = 'select subject, added_at as "addedAt" from administrator order by subject';
const LIVE_KEYS = `select name, prefix, created_by as "createdBy", expires_at as "expiresAt" from api_key
  where project_id is null and revoked_at is null and expires_at > now() order by name, created_at`;

const list: Work = async (client) => {
  const { rows: administrators } = await client.query<{ subject: string; addedAt: Date }>(ADMINISTRATORS);
  const { rows: keys } = await client.query<{
    name: string;
    prefix: string;
    createdBy: string;
    expiresAt: Date;
  }>(LIVE_KEYS);
  const lines = [
    ...administrators.map(({ subject, addedAt }) => `${subject}  since ${addedAt.toISOString()}`),
    ...keys.map(
      ({ name, prefix, createdBy, expiresAt }) =>
        `${KEY_SUBJECT}${name}  ${prefix}  by ${createdBy}  until ${expiresAt.toISOString()}`,
    ),
  ];
  return {
    result: { administrators, keys },
    inWords: lines.join('\n') || 'The installation has no administrator and no key.',
  };
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
    const { text, prefix, row } = newKey(pepper, {
      projectId: null,
      name,
      scopes: INSTALLATION_SCOPES,
      createdBy: commandActor(),
      createdAt,
      expiresAt,
    });
    await client.query(INSERT_KEY, row);
    return {
      result: { name, prefix, key: text, expiresAt },
      inWords: `${text}\nThe key of ${KEY_SUBJECT}${name} for every project, until ${expiresAt.toISOString()}. It is shown only this once and not stored: save it now.`,
    };
  };

const REVOKE = `update api_key set revoked_at = coalesce(revoked_at, clock_timestamp()), revoked_by = coalesce(revoked_by, $2)
  where project_id is null and prefix = $1`;

const revoke =
  (prefix: string): Work =>
  async (client) => {
    const { rowCount } = await client.query(REVOKE, [prefix, commandActor()]);
    if (rowCount === 0) throw new Error(`There is no key ${prefix} of the whole installation.`);
    return { result: { revoked: prefix }, inWords: `The key ${prefix} is revoked.` };
  };

/** What may come before the service has run: a first administrator or key. */
const FIRST = { creates: true };

interface Json {
  json?: boolean;
}

const done = async (work: Work, { json }: Json, creating = {}): Promise<number> => {
  const config = loadConfig();
  const ready = await commandDatabase(config, creating);
  try {
    const settings = { ...config, dataDir: ready.dataDir ?? config.dataDir };
    const { result, inWords } = await asOwner(ready, (client) => work(client, settings));
    print(result, json, () => inWords);
    return 0;
  } finally {
    await ready.stop();
  }
};

const NOTES = `Examples:
  drivebook administrator add 248289761001
  drivebook administrator list
  drivebook administrator remove 248289761001
  drivebook administrator key loader --days 90
  drivebook administrator revoke abcdefgh23

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
    notes(withJson(command.command(name).summary(summary).description(description)), NOTES);
  notes(command, NOTES);
  const SUBJECT = '"sub" of the access tokens, as their issuer writes it';
  addAction('add', 'make a subject an administrator')
    .argument('<subject>', SUBJECT, checked(subjectFault))
    .action(async (subject: string, options: Json) => finish(await done(add(subject), options, FIRST)));
  addAction('remove', 'revoke that')
    .argument('<subject>', SUBJECT)
    .action(async (subject: string, options: Json) => finish(await done(remove(subject), options)));
  addAction('list', 'print the administrators and the live keys of the installation').action(
    async (options: Json) => finish(await done(list, options)),
  );
  addAction(
    'key',
    'create an API key for every project, and print it',
    'Creates an API key for every project, and prints it once; its subject is "key:" and the name. It may do everything except countersign, reopen and certify, which only people can do. Two keys of one name may be live at once, so that one can replace the other.',
  )
    .argument('<name>', 'name of the key', checked(codeFault))
    .option('--days <n>', 'how long the key lives', wholeNumber(1, MAX_DAYS), DEFAULT_DAYS)
    .action(async (name: string, { days, json }: Json & { days: number }) =>
      finish(await done(key(name, days), { json }, FIRST)),
    );
  addAction('revoke', 'revoke such a key')
    .argument('<prefix>', 'its part after "dbk_"')
    .action(async (prefix: string, options: Json) => finish(await done(revoke(prefix), options)));
};
