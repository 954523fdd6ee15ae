import type pg from 'pg';
import { idleDay } from '../builders/days.js';
import { aProject } from '../builders/project.js';
import { type Office, startOffice } from '../harness/office.js';
import { refusalOf, serviceSession } from '../harness/service-role.js';
import { sent } from '../payment/valuations/contract.js';
import { CLI, CON, DRIVE, MEMBERS, PROJECT, said, SUP } from './party-people.js';

// Steps that take two people need both sides of the contract. Contractor CON: anna posts, gina maps, boris and carla are engineers, cleo is QS. Client
// CLI: quinn is QS. Supervisor SUP, for the client: sven. Nora is an engineer for nobody; olga is the administrator.

let office: Office;
let service: pg.Client;

const ask = async (
  who: string,
  method: 'get' | 'put' | 'post' | 'delete',
  url: string,
  body?: object,
  tag?: string,
): Promise<{ status: number; body: Record<string, unknown>; etag: string }> => {
  const request = office.http[method](url).set(office.headersOf(who));
  if (tag !== undefined) void request.set('If-Match', tag);
  const answer = await (body === undefined ? request : request.send(body));
  return {
    status: answer.status,
    body: answer.body as Record<string, unknown>,
    etag: answer.headers['etag'] ?? '',
  };
};

const graphql = async (who: string, query: string): Promise<Record<string, unknown>> =>
  (await office.as(who).http.post('/graphql').send({ query })).body as Record<string, unknown>;

/** A day submitted by anna; returns its tag. */
const submitted = async (date: string, who = 'anna'): Promise<string> =>
  (await ask(who, 'put', `${DRIVE}/shifts/${date}/day`, idleDay(date))).etag;

const countersign = (who: string, date: string, tag: string) =>
  ask(who, 'post', `${DRIVE}/shifts/${date}/day/countersign`, undefined, tag);

const newest = async (date: string): Promise<Record<string, unknown> | undefined> =>
  (await sent<Record<string, unknown>[]>(office, 'sven', 'get', `${DRIVE}/shifts/${date}/day/versions`)).at(
    -1,
  );

beforeAll(async () => {
  office = await startOffice(
    'olga',
    MEMBERS.map(([who]) => who),
  );
  await aProject(office.as('olga'));
  for (const [who, role] of MEMBERS)
    await sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles: [role] });
  service = await serviceSession(office.url);
});

afterAll(async () => {
  await service.end();
  await office.close();
});

describe('a project without parties', () => {
  it('needs two persons, and says that their parties are not recorded', async () => {
    expect((await countersign('boris', '2027-03-01', await submitted('2027-03-01'))).status).toBe(200);
    expect(await newest('2027-03-01')).toMatchObject({
      countersignedBy: 'boris',
      countersignedFor: null,
      signatures: 'parties_not_recorded',
    });
  });
});

describe('parties', () => {
  it('are put, given to members, and listed', async () => {
    expect(
      await sent(office, 'olga', 'put', `${PROJECT}/parties/CON`, { name: CON.name, kind: CON.kind }),
    ).toEqual(CON);
    // with one side only, both sides are not required yet
    expect((await countersign('boris', '2027-03-02', await submitted('2027-03-02'))).status).toBe(200);
    expect(
      await graphql(
        'olga',
        `
          mutation {
            putParty(project: "P1", party: "SUP", input: { name: "Site Supervision", kind: supervisor }) {
              code
              name
              kind
              side
            }
          }
        `,
      ),
    ).toEqual({ data: { putParty: SUP } });
    await sent(office, 'olga', 'put', `${PROJECT}/parties/CLI`, {
      name: CLI.name,
      kind: 'client',
      side: 'client',
    });
    for (const [who, role, party] of MEMBERS)
      if (party) await sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles: [role], party });
    expect(await sent(office, 'sven', 'get', `${PROJECT}/parties`)).toEqual([CLI, CON, SUP]);
    expect(
      await graphql('sven', '{ project(project: "P1") { parties { code } members { subject party } } }'),
    ).toMatchObject({
      data: {
        project: {
          members: expect.arrayContaining([
            { subject: 'sven', party: 'SUP' },
            { subject: 'nora', party: null },
          ]),
        },
      },
    });
  });

  it('are refused on the wrong side, when unknown, or while somebody acts for them', async () => {
    const wrong = await ask('olga', 'put', `${PROJECT}/parties/SUP`, {
      name: 'S',
      kind: 'supervisor',
      side: 'contractor',
    });
    expect(said(wrong)).toEqual([
      422,
      'side contractor does not fit a supervisor, who signs on the side of the client',
    ]);
    expect(
      said(await ask('olga', 'put', `${PROJECT}/members/nora`, { roles: ['engineer'], party: 'X' })),
    ).toEqual([422, 'party X is not in the project: its parties are CLI, CON, SUP']);
    expect(said(await ask('olga', 'delete', `${PROJECT}/parties/SUP`))).toEqual([
      409,
      'sven acts for party SUP: the party cannot be removed',
    ]);
    expect(
      (await ask('boris', 'put', `${PROJECT}/parties/CON`, { name: 'x', kind: 'contractor' })).status,
    ).toBe(403);
    const designer = { name: 'Designer', kind: 'designer', side: 'client' };
    expect(await sent(office, 'olga', 'put', `${PROJECT}/parties/DES`, designer)).toMatchObject({
      side: 'client',
    });
    expect((await ask('olga', 'delete', `${PROJECT}/parties/DES`)).status).toBe(204);
  });
});

describe('a shift', () => {
  it('is countersigned and reopened by the other side, not by a colleague', async () => {
    const date = '2027-03-03';
    const tag = await submitted(date);
    expect(said(await countersign('boris', date, tag))).toEqual([
      403,
      'shift 2027-03-03 day is by anna for CON, and boris acts for CON: the other side countersigns it',
    ]);
    expect(said(await countersign('nora', date, tag))).toEqual([
      403,
      'nora acts for no party of the project: nobody countersigns shift 2027-03-03 day without one',
    ]);
    const signed = await countersign('sven', date, tag);
    expect(signed.status).toBe(200);
    expect(await newest(date)).toMatchObject({
      postedFor: CON,
      countersignedBy: 'sven',
      countersignedFor: SUP,
      signatures: 'two_parties',
    });
    const reopen = (who: string) =>
      ask(who, 'post', `${DRIVE}/shifts/${date}/day/reopen`, { reason: 'counted again' }, signed.etag);
    expect((await reopen('boris')).body['detail']).toMatch(/the other side reopens it$/);
    expect((await reopen('sven')).status).toBe(200);
  });

  it('is countersigned by GraphQL by the same rule, and keeps the name of the party as it was', async () => {
    const date = '2027-03-04';
    const tag = JSON.stringify(await submitted(date));
    const mutation = `mutation { countersignShift(project: "P1", drive: "N", date: "${date}", shift: "day", ifMatch: ${tag}) { state } }`;
    expect(await graphql('boris', mutation)).toMatchObject({
      errors: [{ message: expect.stringMatching(/the other side countersigns it$/) }],
    });
    expect(await graphql('sven', mutation)).toEqual({
      data: { countersignShift: { state: 'countersigned' } },
    });
    await sent(office, 'olga', 'put', `${PROJECT}/parties/SUP`, {
      name: 'New Supervision',
      kind: 'supervisor',
    });
    expect(await newest(date)).toMatchObject({ countersignedFor: { name: 'Site Supervision' } });
    await sent(office, 'olga', 'put', `${PROJECT}/parties/SUP`, { name: SUP.name, kind: 'supervisor' });
  });

  it('is not posted by the supervisor, who may only read, sign and dispute', async () => {
    const date = '2027-03-05';
    expect((await ask('sven', 'put', `${DRIVE}/shifts/${date}/day`, idleDay(date))).status).toBe(403);
    const decision = { from: '1+300', to: '1+310', groundClass: 'A' };
    expect((await ask('sven', 'put', `${DRIVE}/class-decisions/9`, decision)).status).toBe(403);
    expect((await ask('sven', 'get', `${DRIVE}/as-built?from=1%2B200&to=1%2B210`)).status).toBe(200);
  });

  it('of a person without a party cannot be signed until their party is known', async () => {
    const date = '2027-03-06';
    const tag = await submitted(date, 'nora');
    expect(said(await countersign('sven', date, tag))).toEqual([
      403,
      'shift 2027-03-06 day is by nora, who acts for no party of the project: nobody countersigns it until the party of nora is known',
    ]);
    await sent(office, 'olga', 'put', `${PROJECT}/members/nora`, { roles: ['engineer'], party: 'CON' });
    expect((await countersign('sven', date, tag)).status).toBe(200);
    await sent(office, 'olga', 'put', `${PROJECT}/members/nora`, { roles: ['engineer'] });
  });
});

const decide = (who: string, number: number, step: string, tag: string, body: object = {}) =>
  ask(who, 'post', `${DRIVE}/class-decisions/${number}/${step}`, body, tag);

const propose = async (number: number, from: string, to: string): Promise<string> =>
  (
    await sent<{ etag: string }>(office, 'gina', 'put', `${DRIVE}/class-decisions/${number}`, {
      from,
      to,
      groundClass: 'B',
      contractorRepresentative: 'C. Contractor',
      employerRepresentative: 'E. Employer',
    })
  ).etag;

describe('a class', () => {
  it('is agreed and disputed by the other side', async () => {
    const tag = await propose(1, '1+200', '1+210');
    for (const [step, words] of [
      ['agree', 'agrees to'],
      ['dispute', 'disputes'],
    ])
      expect(
        said(await decide('boris', 1, step ?? '', tag, step === 'dispute' ? { reason: 'why' } : {})),
      ).toEqual([
        403,
        `class decision 1 is by gina for CON, and boris acts for CON: the other side ${words} it`,
      ]);
    expect((await decide('sven', 1, 'agree', tag)).body).toMatchObject({
      state: 'agreed',
      proposedFor: CON,
      agreedBy: 'sven',
      agreedFor: SUP,
      signatures: 'two_parties',
    });
    const disputed = await decide('sven', 2, 'dispute', await propose(2, '1+210', '1+220'), {
      reason: 'softer',
    });
    expect(disputed.body).toMatchObject({ state: 'disputed', disputedFor: SUP, signatures: null });
  });
});

describe('a valuation', () => {
  it('is agreed by one side and certified by the other, and its documents say for whom', async () => {
    await sent(office, 'quinn', 'put', `${DRIVE}/bills/V1`, {
      validFrom: '2027-01-01',
      currency: 'EUR',
      items: [
        { reference: 'T.1', description: 'Advance', unit: 'm', quantity: '1000', rate: '10', decimals: 2 },
      ],
    });
    await sent(office, 'quinn', 'put', `${DRIVE}/valuations/1`, { cutOff: '2027-02-28' });
    const valuation = `${DRIVE}/valuations/1`;
    expect((await ask('nora', 'post', `${valuation}/agree`)).body['detail']).toMatch(
      /^nora acts for no party/,
    );
    await sent(office, 'boris', 'post', `${valuation}/agree`);
    expect(said(await ask('cleo', 'post', `${valuation}/certify`))).toEqual([
      403,
      'valuation 1 is by boris for CON, and cleo acts for CON: the other side certifies it',
    ]);
    expect(await sent(office, 'quinn', 'post', `${valuation}/certify`)).toMatchObject({
      state: 'certified',
      agreedFor: CON,
      certifiedFor: CLI,
      signatures: 'two_parties',
    });
    const csv = await office.http.get(`${valuation}/export.csv`).set(office.headersOf('sven'));
    const [names = [], values = []] = csv.text
      .split('\r\n')
      .map((line) => line.replaceAll('"', '').split(','));
    const cell = (name: string) => values[names.indexOf(name)];
    expect([cell('agreed_for'), cell('certified_for'), cell('signatures')]).toEqual([
      'CON',
      'CLI',
      'two_parties',
    ]);
  });
});

describe('by SQL, as the service', () => {
  const by = (actor: string, sql: string): string =>
    `select set_config('drivebook.actor', '${actor}', true), set_config('drivebook.reason', 'why', true); ${sql}`;
  const shift = (date: string, set: string): string =>
    `update public.shift set ${set} where shift_date = '${date}'`;
  const forged = `'${JSON.stringify(CLI)}'::jsonb`;

  beforeAll(async () => {
    await submitted('2027-03-10');
    await propose(3, '1+230', '1+240');
    await sent(office, 'quinn', 'put', `${DRIVE}/valuations/2`, { cutOff: '2027-03-01' });
    await sent(office, 'boris', 'post', `${DRIVE}/valuations/2/agree`);
  });

  it.each([
    [
      'a colleague countersigns',
      by('boris', shift('2027-03-10', `state = 'countersigned'`)),
      'DB003',
      'second_party',
    ],
    [
      'in the name of the other party',
      by(
        'boris',
        shift('2027-03-10', `state = 'countersigned', countersigned_for = ${forged}, posted_for = null`),
      ),
      'DB003',
      'second_party',
    ],
    ['a colleague reopens', by('boris', shift('2027-03-04', `state = 'draft'`)), 'DB003', 'second_party'],
    [
      'somebody of no party',
      by('nobody', shift('2027-03-10', `state = 'countersigned'`)),
      'DB003',
      'second_party',
    ],
    ['the other side', by('sven', shift('2027-03-10', `state = 'countersigned'`)), 'taken', undefined],
    [
      'the poster again',
      by('anna', shift('2027-03-10', `state = 'countersigned'`)),
      'DB003',
      'second_person',
    ],
    [
      'a colleague agrees a class',
      by(
        'boris',
        `update public.class_decision set state = 'agreed', proposed_for = ${forged} where number = 3`,
      ),
      'DB003',
      'second_party',
    ],
    [
      'a colleague withdraws what was agreed',
      by('boris', `update public.class_decision set state = 'withdrawn' where number = 1`),
      'DB003',
      'second_party',
    ],
    [
      'a colleague certifies',
      by(
        'cleo',
        `update public.valuation set state = 'certified', measured_change = 1, agreed_for = ${forged} where number = 2`,
      ),
      'DB003',
      'second_party',
    ],
    [
      'beside tables of the same names',
      `create temp table party_member (like public.party_member); create temp table party (like public.party);
        ${by('boris', shift('2027-03-10', `state = 'countersigned'`))}`,
      'DB003',
      'second_party',
    ],
    [
      'a supervisor on the contractor’s side',
      `update public.party set side = 'contractor' where code = 'SUP'`,
      '23514',
      'party_side',
    ],
    [
      'no reason for one party',
      `update public.project set signatures_by_one_party = ' '`,
      '23514',
      'project_signatures_by_one_party',
    ],
  ])('%s', async (_, sql, state, constraint) => {
    const [project] = await office.sql<{ id: number }>(`select id from project where code = 'P1'`);
    expect(await refusalOf(service, project?.id, sql)).toMatchObject({
      state,
      ...(constraint && { constraint }),
    });
  });

  it('a party cannot be written into what is signed', async () => {
    await office.sql(
      `update class_decision set agreed_for = ${forged}, proposed_for = null where number = 1`,
    );
    expect(await sent(office, 'sven', 'get', `${DRIVE}/class-decisions/1`)).toMatchObject({
      proposedFor: CON,
      agreedFor: SUP,
    });
  });
});

describe('a project that says otherwise', () => {
  const project = { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };

  it('accepts two persons of one party, for a reason that an administrator gives, and every signature says so', async () => {
    const reason = 'The client has no staff on site';
    const otherwise = { ...project, signaturesByOneParty: reason };
    expect((await ask('boris', 'put', PROJECT, otherwise)).status).toBe(403);
    expect((await ask('olga', 'put', PROJECT, { ...project, signaturesByOneParty: ' ' })).status).toBe(422);
    expect(await sent(office, 'olga', 'put', PROJECT, otherwise)).toMatchObject({
      signaturesByOneParty: reason,
    });
    expect((await countersign('boris', '2027-03-11', await submitted('2027-03-11'))).status).toBe(200);
    expect(await newest('2027-03-11')).toMatchObject({ countersignedFor: CON, signatures: 'one_party' });
    expect((await decide('boris', 4, 'agree', await propose(4, '1+250', '1+260'))).body).toMatchObject({
      signatures: 'one_party',
    });
    expect(await sent(office, 'cleo', 'post', `${DRIVE}/valuations/2/certify`)).toMatchObject({
      signatures: 'one_party',
    });
    expect(
      await graphql(
        'sven',
        '{ drive(project: "P1", drive: "N") { valuation(number: 2) { signatures agreedFor { code } certifiedFor { code } } } }',
      ),
    ).toEqual({
      data: {
        drive: {
          valuation: { signatures: 'one_party', agreedFor: { code: 'CON' }, certifiedFor: { code: 'CON' } },
        },
      },
    });
    await sent(office, 'olga', 'put', PROJECT, project);
    expect((await countersign('boris', '2027-03-12', await submitted('2027-03-12'))).status).toBe(403);
  });
});
