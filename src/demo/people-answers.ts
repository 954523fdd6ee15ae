import type { LedgerByParty } from '../features/driving/ledger/ledger.models.js';
import type { Member } from '../features/site/members/member.models.js';
import type { Party } from '../features/site/parties/party.models.js';
import { DRIVE_PATH, PROJECT_PATH } from './addresses.js';
import type { DemoClient } from './client.js';
import { section } from './section.js';
import { type Column, table } from './table.js';

/** Who acts for which party, and hours by responsible party. */
export const peopleAnswers = async (client: DemoClient): Promise<string[]> => {
  const members = await client.get<Member[]>(`${PROJECT_PATH}/members`);
  const parties = await client.get<Party[]>(`${PROJECT_PATH}/parties`);
  const ofMembers: Column<Member>[] = [
    { title: 'who', value: ({ subject }) => subject },
    { title: 'roles', value: ({ roles }) => roles.join(', ') },
    { title: 'acts for', value: ({ party }) => parties.find(({ code }) => code === party)?.name },
  ];
  const ledger = `${DRIVE_PATH}/ledger/parties`;
  const ofHours: Column<LedgerByParty>[] = [
    { title: 'responsible party', value: ({ responsibleParty }) => responsibleParty ?? 'none named' },
    { title: 'hours', value: ({ hours }) => hours, right: true },
    { title: 'activities', value: ({ activityCount }) => activityCount, right: true },
  ];
  return [
    section('WHO IS ON THE SITE', client.url(`${PROJECT_PATH}/members`), table(members, ofMembers)),
    section(
      'HOURS BY RESPONSIBLE PARTY',
      client.url(ledger),
      table(await client.get<LedgerByParty[]>(ledger), ofHours),
    ),
  ];
};
