import type { Member } from '../features/site/members/member.models.js';
import { DRIVE_PATH, PROJECT_PATH, shiftPath } from './addresses.js';
import type { DemoClient } from './client.js';
import type { DemoIssuer } from './issuer.js';
import { PARTIES, PEOPLE, type Person } from './people.js';
import type { DemoShift } from './scenario.js';
import { putList, Tally } from './tally.js';

/** A client of the service for each of the invented people. */
export type Crowd = Record<Person, DemoClient>;

export const crowd = async (client: DemoClient, issuer: DemoIssuer): Promise<Crowd> => {
  const names = Object.keys(PEOPLE) as Person[];
  const speaking = names.map(async (name) => [name, client.as(await issuer.token(name))] as const);
  return Object.fromEntries(await Promise.all(speaking)) as Crowd;
};

/**
 * Enters the parties, and the people with their roles.
 * @throws Error where shifts exist without them: the demo of an earlier release posted those as a single user
 */
export const putPeople = async (client: DemoClient, [first]: DemoShift[]): Promise<Tally> => {
  const path = `${PROJECT_PATH}/members`;
  const members = await client.get<Member[]>(path);
  if (first && members.length === 0 && (await client.find(shiftPath(first))))
    throw new Error(
      `${client.url(DRIVE_PATH)} was loaded by the demo of an earlier release, whose shifts nobody here may countersign: remove the folder "demo" of the data folder, or name an empty database.`,
    );
  const tally = new Tally();
  await putList(client, `${PROJECT_PATH}/parties`, 'code', PARTIES, tally);
  await putList(client, path, 'subject', PEOPLE, tally);
  return tally;
};
