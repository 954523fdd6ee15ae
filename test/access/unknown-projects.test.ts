import { jest } from '@jest/globals';
import { hearStatements } from '../harness/sent.js';
import { inTurn, sized } from '../harness/sizes.js';
import { queryOf, send } from './asking.js';
import { GRAPHQL } from './graphql-rights.js';
import { REST } from './rest-rights.js';
import { type Caller, OWNER, type Site, startSite } from './site.js';

/** Names of equal length, so that they cannot make answers differ. */
const THEIRS = 'THEIRS';
const NOWHERE = 'NOSUCH';

let site: Site;
/** Callers without a role in the project, by kind of credential. */
const strangers: Record<string, Caller> = {};
/** Statements sent to the database. */
let sent: string[];
let ahead = 0;

beforeAll(async () => {
  site = await startSite();
  const owner = await site.as(OWNER);
  for (const project of [THEIRS, 'MINE']) {
    await site.project(project);
    const drive = {
      name: 'Trial',
      startChainage: '1+200',
      endChainage: '2+200',
      direction: 1,
      boredDiameterM: '7',
    };
    expect((await owner.put(`/v1/projects/${project}/drives/N`, drive)).status).toBeLessThan(300);
  }
  await owner.put('/v1/projects/MINE/members/anna', { roles: ['administrator', 'engineer', 'qs'] });
  const { body } = await owner.post('/v1/projects/MINE/api-keys', { name: 'board', scopes: ['record.read'] });
  strangers['somebody without any role'] = await site.as('stranger');
  strangers['an administrator of another project'] = await site.as('anna');
  strangers['a key of another project'] = site.bearing((body as { key: string }).key);

  sent = hearStatements();
  const now = performance.now.bind(performance);
  jest.spyOn(performance, 'now').mockImplementation(() => now() + ahead);
});

afterAll(async () => {
  jest.restoreAllMocks();
  await site.close();
});

interface Answer {
  status: number;
  headers: Record<string, string>;
  text: string;
  statements: string[];
}

const answerOf = async (caller: Caller, right: string, project: string): Promise<Answer> => {
  ahead += 10_000; // the cache of the last call has expired
  sent.length = 0;
  const [method = '', path = ''] = right.split(/ (.*)/);
  const asked = right.includes(' ')
    ? send(caller, method, `/v1/projects/${project}${path}`)
    : caller.graphql(queryOf(site, right, project));
  const { status, headers, text } = await asked.set('x-request-id', 'the-same');
  const others = { ...(headers as Record<string, string>), date: '' };
  return {
    status,
    headers: others,
    text: text.replaceAll(project, 'PROJECT'),
    statements: [...sent],
  };
};

const RIGHTS = [...REST, ...GRAPHQL]
  .map(([right], place) => [right, place] as const)
  .filter(([, place]) => place % sized(8, 1) === 0);

// every eighth by one of the strangers in turn by `npm test`; `npm run test:long` has the others
it.each(RIGHTS)(
  '%s answers the same for a project of others and for one that does not exist',
  async (right, place) => {
    for (const caller of inTurn(Object.values(strangers), place % 8 === 0 ? 1 : 0, place / 8)) {
      const [theirs, nowhere] = [
        await answerOf(caller, right, THEIRS),
        await answerOf(caller, right, NOWHERE),
      ];
      expect(theirs.statements.length).toBeGreaterThan(0);
      expect(theirs).toEqual(nowhere);
    }
  },
);

it('a project is not created without the permission', async () => {
  expect(await site.sql('select code from project where code = $1', [NOWHERE])).toEqual([]);
});
