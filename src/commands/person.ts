import { type Command, Option } from 'commander';
import { codeFault } from '../common/api/fields.js';
import { subjectFault } from '../features/site/members/subject.js';
import { ROLES, type Role } from '../common/auth/permissions.js';
import type { Database } from '../common/database/database.js';
import type { Member } from '../features/site/members/member.models.js';
import { MembersService } from '../features/site/members/members.service.js';
import { PartiesService } from '../features/site/parties/parties.service.js';
import { PartyKind } from '../generated/prisma/enums.js';
import { type AddCommand, checked, notes, ON_DATABASE, print, withJson } from './command.js';
import { onRecord } from './on-record.js';

interface Project {
  project: string;
  json?: boolean;
}

interface Person extends Project {
  role: Role[];
  party?: string;
}

const inWords = ({ subject, roles, party }: Member): string =>
  `${subject}  ${roles.join(', ')}${party === undefined ? '' : `  for ${party}`}`;

/** Creates the party if its code is a kind of party and the project has no such code yet. */
const provideParty = async (database: Database, code: string): Promise<void> => {
  const kind = Object.values(PartyKind).find((each) => each === code);
  const parties = new PartiesService(database);
  if (!kind || (await parties.list()).some((party) => party.code === code)) return;
  await parties.put(code, { name: code, kind });
};

const add = (name: string, { project, role, party, json }: Person): Promise<number> =>
  onRecord(project, async (database) => {
    if (party !== undefined) await provideParty(database, party);
    const member = await new MembersService(database).put(name, { roles: role, party });
    print(
      member,
      json,
      () =>
        `${inWords(member)}\nWith AUTH=local requests are theirs with the header "Authorization: Local ${name}".`,
    );
    return 0;
  });

const list = ({ project, json }: Project): Promise<number> =>
  onRecord(project, async (database) => {
    const members = await new MembersService(database).list();
    print(members, json, () =>
      members.length > 0 ? members.map(inWords).join('\n') : `Project ${project} has no members.`,
    );
    return 0;
  });

const remove = (name: string, { project, json }: Project): Promise<number> =>
  onRecord(project, async (database) => {
    await new MembersService(database).remove(name);
    print({ removed: name }, json, () => `${name} is no longer a member of project ${project}.`);
    return 0;
  });

const NOTES = `Examples:
  drivebook person add anna --project TRIAL --role engineer --party contractor
  drivebook person add otto --project TRIAL --role supervisor --party supervisor
  drivebook person list --project TRIAL
  drivebook person remove anna --project TRIAL
  curl -H 'Authorization: Local anna' http://127.0.0.1:3000/v1/projects/TRIAL

These people do not authenticate: they are for trying the service on one machine, where what takes two people
takes two. With AUTH=required people sign in with access tokens, and these names are subjects of tokens.
${ON_DATABASE}`;

/** `drivebook person`: named people of a project, for AUTH=local. */
export const addPerson: AddCommand = (program, finish) => {
  const command = program
    .command('person')
    .summary('manage the people to act as with AUTH=local')
    .description('Names people of a project to act as where the service runs without login (AUTH=local).');
  notes(command, NOTES);
  const inProject = (name: string, summary: string): Command =>
    notes(
      withJson(
        command.command(name).description(summary).requiredOption('--project <code>', 'code of the project'),
      ),
      NOTES,
    );
  const ofPerson = (each: Command): Command =>
    each.argument(
      '<name>',
      'name of the person',
      checked((text) => codeFault(text) ?? subjectFault(text)),
    );
  ofPerson(inProject('add', 'add a person, or change their roles and party'))
    .addOption(new Option('--role <role...>', 'what they may do').choices(ROLES).makeOptionMandatory())
    .option(
      '--party <code>',
      'the party that they act for; contractor, client, supervisor or designer is created if missing',
    )
    .action(async (name: string, options: Person) => finish(await add(name, options)));
  inProject('list', 'print the people of the project').action(async (options: Project) =>
    finish(await list(options)),
  );
  ofPerson(inProject('remove', 'remove a person’s roles')).action(async (name: string, options: Project) =>
    finish(await remove(name, options)),
  );
};
