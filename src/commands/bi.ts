import type { Command } from 'commander';
import type pg from 'pg';
import {
  type BiLimits,
  grantBi,
  grantsOfBi,
  loginFault,
  passwordOfBi,
  removeBi,
  revokeBi,
} from '../common/database/bi-logins.js';
import { byLogin } from '../common/database/roles.js';
import { loadConfig } from '../common/config/config.js';
import type { ReadyDatabase } from '../common/database/ready-database.js';
import { type AddCommand, checked, notes, ON_DATABASE, print, wholeNumber, withJson } from './command.js';
import { asOwner, commandDatabase } from './command-database.js';
import { commandActor } from './command-scope.js';

interface Options extends Partial<BiLimits> {
  project: string;
  json?: boolean;
}

/** Runs work on a connection as the owner and prints the result. */
const done = async (
  json: boolean | undefined,
  work: (client: pg.Client, ready: ReadyDatabase) => Promise<{ result: object; inWords: string }>,
): Promise<number> => {
  const ready = await commandDatabase(loadConfig());
  try {
    const { result, inWords } = await asOwner(ready, (client) => work(client, ready));
    print(result, json, () => inWords);
    return 0;
  } finally {
    await ready.stop();
  }
};

/** The address of the database for a login, with its password. */
const connecting = ({ ownerUrl }: ReadyDatabase, login: string, password: string): string =>
  byLogin(ownerUrl, { name: login, password });

const SHOWN_ONCE = 'The password is shown only once and is not stored: save it now.';

const grant = (login: string, { project, timeoutS, connections, json }: Options): Promise<number> =>
  done(json, async (client, ready) => {
    const limits = {
      ...(timeoutS === undefined ? {} : { timeoutS }),
      ...(connections === undefined ? {} : { connections }),
    };
    const password = await grantBi(client, { login, project, actor: commandActor() }, limits);
    const granted = `${login} reads project ${project}.`;
    if (password === undefined) return { result: { login, project }, inWords: granted };
    const address = connecting(ready, login, password);
    return {
      result: { login, project, password, address },
      inWords: `${granted}\n${address}\n${SHOWN_ONCE}`,
    };
  });

const revoke = (login: string, { project, json }: Options): Promise<number> =>
  done(json, async (client) => {
    await revokeBi(client, { login, project, actor: commandActor() });
    return { result: { login, project }, inWords: `${login} no longer reads project ${project}.` };
  });

const remove = (login: string, { json }: Options): Promise<number> =>
  done(json, async (client) => {
    await removeBi(client, { login, actor: commandActor() });
    return { result: { removed: login }, inWords: `${login} is removed.` };
  });

const renew = (login: string, { json }: Options): Promise<number> =>
  done(json, async (client, ready) => {
    const password = await passwordOfBi(client, login);
    const address = connecting(ready, login, password);
    return { result: { login, password, address }, inWords: `${address}\n${SHOWN_ONCE}` };
  });

const list = ({ json }: Options): Promise<number> =>
  done(json, async (client) => {
    const grants = await grantsOfBi(client);
    const lines = grants.map(
      ({ login, project, grantedBy, grantedAt }) =>
        `${login}  ${project}  by ${grantedBy}  since ${grantedAt}`,
    );
    return { result: grants, inWords: lines.join('\n') || 'No BI login reads a project.' };
  });

const NOTES = `Examples:
  drivebook bi grant office_reports --project TRIAL
  drivebook bi grant office_reports --project SOUTH --connections 20
  drivebook bi revoke office_reports --project SOUTH
  drivebook bi password office_reports
  drivebook bi remove office_reports
  drivebook bi list

A login reads the reports (schema "report") and the tables behind them, of the projects granted to it, as the
record is now. It cannot write.
${ON_DATABASE}`;

/** `drivebook bi`: database logins for BI tools. */
export const addBi: AddCommand = (program, finish) => {
  const command = program
    .command('bi')
    .summary('database logins for BI tools')
    .description('Manages database logins for BI tools and SQL, each limited to the projects granted to it.');
  notes(command, NOTES);
  const action = (name: string, summary: string, description = summary): Command =>
    notes(withJson(command.command(name).summary(summary).description(description)), NOTES);
  const onLogin = (each: Command): Command =>
    each.argument('<login>', 'name of the login', checked(loginFault));
  const onProject = (each: Command): Command =>
    onLogin(each).requiredOption('--project <code>', 'code of the project');
  onProject(
    action(
      'grant',
      'let a login read a project; creates the login if it is new',
      'Lets a login read a project. A login that does not exist is created and its password is printed once.',
    ),
  )
    .option(
      '--timeout-s <s>',
      'time limit of a statement in seconds; 60 for a new login',
      wholeNumber(1, 3600),
    )
    .option('--connections <n>', 'maximum number of connections; 10 for a new login', wholeNumber(1, 100))
    .action(async (login: string, options: Options) => finish(await grant(login, options)));
  onProject(
    action(
      'revoke',
      'withdraw a project from a login',
      'Withdraws a project from a login at once and ends its connections.',
    ),
  ).action(async (login: string, options: Options) => finish(await revoke(login, options)));
  onLogin(action('remove', 'remove a login and all its grants')).action(
    async (login: string, options: Options) => finish(await remove(login, options)),
  );
  onLogin(action('password', 'set a new password for a login and print it')).action(
    async (login: string, options: Options) => finish(await renew(login, options)),
  );
  action('list', 'list the logins and the projects they read').action(async (options: Options) =>
    finish(await list(options)),
  );
};
