import { boredDay, idleDay } from '../builders/days.js';
import { aProject } from '../builders/project.js';
import { LOG } from '../ground/ground-logs/logs.js';
import { type Office, startOffice } from '../harness/office.js';
import { refusalOf, serviceSession } from '../harness/service-role.js';
import { sent } from '../payment/valuations/contract.js';
import { CLI, CON, DRIVE, MEMBERS, PROJECT, said, SUP } from './party-people.js';

// Attacks on the rules of parties: changing sides between two signatures, removing a party, using a key, using the switch of the project, and
// SQL as the service sends it. Who acts for whom: party-people.ts; olga is the administrator and an engineer of the client.

type Row = Record<string, unknown>;

let office: Office;

const ask = async (
  who: string | { key: string },
  method: 'get' | 'put' | 'post' | 'delete',
  url: string,
  body?: object,
  tag?: string,
): Promise<{ status: number; body: Row; etag: string }> => {
  const headers = typeof who === 'string' ? office.headersOf(who) : { Authorization: `Bearer ${who.key}` };
  const request = office.http[method](url).set(headers);
  if (tag !== undefined) void request.set('If-Match', tag);
  const { status, body: answer, headers: out } = await (body === undefined ? request : request.send(body));
  return { status, body: answer as Row, etag: out['etag'] ?? '' };
};

const submitted = async (date: string, who: string | { key: string } = 'anna'): Promise<string> => {
  const { status, etag } = await ask(who, 'put', `${DRIVE}/shifts/${date}/day`, idleDay(date));
  expect([date, status]).toEqual([date, 201]);
  return etag;
};

const countersign = (who: string, date: string, tag: string) =>
  ask(who, 'post', `${DRIVE}/shifts/${date}/day/countersign`, undefined, tag);

const newest = async (date: string): Promise<Row | undefined> =>
  (await sent<Row[]>(office, 'sven', 'get', `${DRIVE}/shifts/${date}/day/versions`)).at(-1);

const member = (who: string, roles: string[], party?: string) =>
  sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles, party });

const PROJECT_INPUT = { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };

beforeAll(async () => {
  office = await startOffice(
    'olga',
    MEMBERS.map(([who]) => who),
  );
  await aProject(office.as('olga'));
  for (const { code, ...party } of [CON, SUP, CLI])
    await sent(office, 'olga', 'put', `${PROJECT}/parties/${code}`, party);
  for (const [who, role, party] of MEMBERS) await member(who, [role], party);
  await member('olga', ['administrator', 'engineer'], 'CLI');
});

afterAll(() => office.close());

describe('a member who changes sides between two signatures', () => {
  it('leaves the first as it was: it was given for the side of that moment', async () => {
    const tag = await submitted('2027-03-02');
    await member('anna', ['shift_poster', 'engineer'], 'SUP');
    expect(said(await countersign('anna', '2027-03-02', tag))[0]).toBe(403);
    expect(said(await countersign('boris', '2027-03-02', tag))).toEqual([
      403,
      'shift 2027-03-02 day is by anna for CON, and boris acts for CON: the other side countersigns it',
    ]);
    expect((await countersign('sven', '2027-03-02', tag)).status).toBe(200);
    await member('anna', ['shift_poster'], 'CON');
  });
});

describe('a party', () => {
  it('cannot be removed or change sides as the last of its side, without a reason why one party signs', async () => {
    const P2 = '/v1/projects/P2';
    await sent(office, 'olga', 'put', P2, PROJECT_INPUT);
    await sent(office, 'olga', 'put', `${P2}/parties/CON`, { name: 'C', kind: 'contractor' });
    await sent(office, 'olga', 'put', `${P2}/parties/CON`, { name: 'C', kind: 'client' }); // only one side so far, so this is allowed
    await sent(office, 'olga', 'put', `${P2}/parties/CON`, { name: 'C', kind: 'contractor' });
    await sent(office, 'olga', 'put', `${P2}/parties/CLI`, { name: 'E', kind: 'client' });
    const last =
      'party CLI is the last on the side of the client, and what takes two is signed by both sides: name another party of that side first, or give the project a reason in signaturesByOneParty';
    expect(said(await ask('olga', 'delete', `${P2}/parties/CLI`))).toEqual([409, last]);
    expect(
      said(
        await ask('olga', 'put', `${P2}/parties/CLI`, { name: 'E', kind: 'designer', side: 'contractor' }),
      ),
    ).toEqual([409, last]);
    await sent(office, 'olga', 'put', `${P2}/parties/SUP`, { name: 'S', kind: 'supervisor' });
    expect((await ask('olga', 'delete', `${P2}/parties/CLI`)).status).toBe(204);
    await sent(office, 'olga', 'put', P2, { ...PROJECT_INPUT, signaturesByOneParty: 'no client on site' });
    expect((await ask('olga', 'delete', `${P2}/parties/SUP`)).status).toBe(204);
  });
});

describe('the switch of the project', () => {
  it('leaves its reason with the signatures that it allowed, and with no others', async () => {
    const reason = 'The client has no staff on site';
    const [first, second] = [await submitted('2027-03-03'), await submitted('2027-03-04')];
    await sent(office, 'olga', 'put', PROJECT, { ...PROJECT_INPUT, signaturesByOneParty: reason });
    expect((await countersign('boris', '2027-03-03', first)).status).toBe(200);
    await sent(office, 'olga', 'put', PROJECT, PROJECT_INPUT);
    expect((await countersign('boris', '2027-03-04', second)).status).toBe(403);
    expect((await countersign('sven', '2027-03-04', second)).status).toBe(200);
    expect(await newest('2027-03-03')).toMatchObject({
      signatures: 'one_party',
      countersignedFor: { code: 'CON', oneParty: reason },
    });
    expect(await newest('2027-03-04')).toMatchObject({
      signatures: 'two_parties',
      countersignedFor: SUP,
    });
    expect((await newest('2027-03-04'))?.['countersignedFor']).toMatchObject({ oneParty: null });
  });
});

describe('an API key', () => {
  const make = (name: string, party?: string) =>
    ask('olga', 'post', `${PROJECT}/api-keys`, { name, scopes: ['shift.write'], party });
  const keyOf = ({ body }: { body: Row }) => ({ key: body['key'] as string });

  it('posts for its party, and what it posted is signed by the other side, never by the maker of the key', async () => {
    const key = keyOf(await make('logger', 'CON'));
    const tag = await submitted('2027-03-05', key);
    expect(await newest('2027-03-05')).toMatchObject({ postedBy: ['key:logger'], postedFor: CON });
    expect(said(await countersign('boris', '2027-03-05', tag))).toEqual([
      403,
      'shift 2027-03-05 day is by key:logger for CON, and boris acts for CON: the other side countersigns it',
    ]);
    // olga, who knows its secret, acts for the client
    expect(said(await countersign('olga', '2027-03-05', tag))).toEqual([
      403,
      'shift 2027-03-05 day was written by key:logger, a key that olga made: another person countersigns it',
    ]);
    expect((await countersign('sven', '2027-03-05', tag)).status).toBe(200);
    expect(await newest('2027-03-05')).toMatchObject({ signatures: 'two_parties' });
    // nor after somebody corrected what the key had posted
    const written = await submitted('2027-03-06', key);
    const again = idleDay('2027-03-06', 'corrected');
    const corrected = await ask('anna', 'put', `${DRIVE}/shifts/2027-03-06/day`, again, written);
    expect(corrected.status).toBe(200);
    expect(said(await countersign('olga', '2027-03-06', corrected.etag))[0]).toBe(403);
    expect((await countersign('sven', '2027-03-06', corrected.etag)).status).toBe(200);
  });

  it('without a party: what it posted cannot be signed until its party is known', async () => {
    const tag = await submitted('2027-03-08', keyOf(await make('plain')));
    expect(said(await countersign('sven', '2027-03-08', tag))).toEqual([
      403,
      'shift 2027-03-08 day is by key:plain, who acts for no party of the project: nobody countersigns it until the party of key:plain is known',
    ]);
  });

  it('does not change sides by another key of its name, and does not pass its party on to a later one', async () => {
    expect(said(await make('logger', 'CLI'))).toEqual([
      409,
      'a live key named logger acts for party CON: another key of that name must act for the same party; revoke the live key first, or use another name',
    ]);
    const second = await make('logger'); // replaces the first
    expect(second.body['party']).toBe('CON');
    for (const { prefix } of await sent<{ prefix: string }[]>(office, 'olga', 'get', `${PROJECT}/api-keys`))
      await ask('olga', 'delete', `${PROJECT}/api-keys/${prefix}`);
    expect((await make('logger')).body['party']).toBeNull();
  });
});

describe('a supervisor', () => {
  it('cannot post, by any route', async () => {
    const url = `${DRIVE}/shifts/2027-03-09/day`;
    expect((await ask('sven', 'put', url, idleDay('2027-03-09'))).status).toBe(403);
    expect((await ask('sven', 'put', `${DRIVE}/probe-holes/P`, { collar: '1+200' })).status).toBe(403);
    expect((await ask('sven', 'put', `${DRIVE}/ground-logs/L`, LOG)).status).toBe(403);
    const query = `mutation ($d: ShiftDocumentInput!) { putShift(project: "P1", drive: "N", date: "2027-03-09", shift: "day", document: $d) { state } }`;
    const answer = await office
      .as('sven')
      .http.post('/graphql')
      .send({ query, variables: { d: idleDay('2027-03-09') } });
    expect(answer.body.errors[0].extensions).toMatchObject({ status: 403 });
  });
});

describe('which log governs', () => {
  const step = (who: string, what: string, body: object = {}) =>
    ask(who, 'post', `${DRIVE}/ground-logs/FACE/${what}-as-governing`, body);

  it('is agreed and withdrawn by the other side, not by a colleague', async () => {
    const bored = boredDay('2027-03-01', 1, '1+200', '1+230', '10');
    await sent(office, 'anna', 'put', `${DRIVE}/shifts/2027-03-01/day`, bored);
    await sent(office, 'gina', 'put', `${DRIVE}/ground-logs/FACE`, LOG);
    await step('gina', 'propose', { reason: 'mapped closest' });
    expect(said(await step('boris', 'agree'))).toEqual([
      403,
      'ground log FACE as the governing log is by gina for CON, and boris acts for CON: the other side agrees to it',
    ]);
    expect((await step('nora', 'agree')).body['detail']).toMatch(/^nora acts for no party/);
    expect((await step('sven', 'agree')).body['governing']).toMatchObject({
      state: 'agreed',
      proposedFor: CON,
      agreedFor: SUP,
      signatures: 'two_parties',
    });
    const [row] = await office.sql(
      `select governing_proposed_for as proposed, governing_agreed_for as agreed from report.ground_log where name = 'FACE'`,
    );
    expect(row).toEqual({ proposed: CON, agreed: SUP });
    expect((await step('boris', 'withdraw', { reason: 'wrong face' })).status).toBe(403);
    expect((await step('sven', 'withdraw', { reason: 'wrong face' })).body['governing']).toBeNull();
  });
});

describe('a disputed quantity', () => {
  const settle = (who: string, settlement: string) =>
    ask(who, 'post', `${DRIVE}/quantity-disputes/1/settle`, { settlement });

  beforeAll(async () => {
    await office.sql(`select set_config('drivebook.actor', 'quinn', true);
      insert into quantity_dispute (project_id, drive_id, number, reference, source_key, reason, raised_by, raised_for, settlement, settlement_by, settlement_at, settled_by, settled_at)
        select project_id, id, 1, 'T.1', '2027-03-01/day/boring/0', 'counted twice', 'boris', '${JSON.stringify(CON)}', 'none', 'boris', now(), 'boris', now() from drive where code = 'N'`);
  });

  it('is recorded as raised by its sender and open, even if the statement says otherwise', async () => {
    expect(await sent(office, 'sven', 'get', `${DRIVE}/quantity-disputes`)).toMatchObject([
      { raisedBy: 'quinn', raisedFor: CLI, settlement: null, settledBy: null, signatures: null },
    ]);
  });

  it('is settled when one side agrees to what the other proposed', async () => {
    // a proposal of the contractor alone settles nothing
    expect((await settle('cleo', 'paid in full')).body).toMatchObject({
      settlement: 'paid in full',
      settlementBy: 'cleo',
      settlementFor: CON,
      settledAt: null,
      signatures: null,
    });
    expect(said(await settle('boris', 'paid in full'))).toEqual([
      403,
      'the settlement of dispute 1 is by cleo for CON, and boris acts for CON: the other side agrees to it',
    ]);
    expect((await settle('nora', 'paid in full')).status).toBe(403);
    expect((await settle('quinn', 'half of it')).body).toMatchObject({ settlementFor: CLI, settledAt: null });
    expect((await settle('cleo', 'half of it')).body).toMatchObject({
      settlement: 'half of it',
      settledBy: 'cleo',
      settledFor: CON,
      signatures: 'two_parties',
    });
    expect((await settle('quinn', 'none of it')).status).toBe(409);
  });
});

describe('by SQL, as the service', () => {
  const by = (actor: string, sql: string): string =>
    `select set_config('drivebook.actor', '${actor}', true), set_config('drivebook.reason', 'why', true); ${sql}`;
  const forged = `'${JSON.stringify(SUP)}'::jsonb`;

  it.each([
    [
      'a settled dispute is changed',
      by('quinn', `update public.quantity_dispute set settlement = 'more'`),
      'DB002',
    ],
    ['a dispute is removed', by('quinn', `delete from public.quantity_dispute`), 'DB002'],
    [
      'the last party of a side is removed',
      `delete from public.party_member; delete from public.party where side = 'client'`,
      'DB002',
    ],
    [
      'a log is agreed by a colleague',
      by('gina', `update public.ground_log_sheet set ruling_state = 'proposed' where name = 'FACE'`) +
        '; ' +
        by('boris', `update public.ground_log_sheet set ruling_state = 'agreed' where name = 'FACE'`),
      'DB003',
    ],
    [
      'or in the name of the other side',
      by('gina', `update public.ground_log_sheet set ruling_state = 'proposed' where name = 'FACE'`) +
        '; ' +
        by(
          'boris',
          `update public.ground_log_sheet set ruling_state = 'agreed', ruling_agreed_for = ${forged} where name = 'FACE'`,
        ),
      'DB002',
    ],
  ])('%s: refused', async (_, sql, state) => {
    const service = await serviceSession(office.url);
    const [project] = await office.sql<{ id: number }>(`select id from project where code = 'P1'`);
    expect(await refusalOf(service, project?.id, sql).finally(() => service.end())).toMatchObject({ state });
  });
});
