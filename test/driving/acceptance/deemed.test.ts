import { idleDay } from '../../builders/days.js';
import { aProject } from '../../builders/project.js';
import { CLI, CON, DRIVE, MEMBERS, PROJECT, said, SUP } from '../../access/party-people.js';
import { type Office, startOffice } from '../../harness/office.js';
import { foundAt } from '../../harness/service-role.js';
import { sent } from '../../payment/valuations/contract.js';

// A shift that the other side leaves unanswered. Who acts for whom: ../access/party-people.ts. The site is in Zurich.

type Row = Record<string, unknown>;

let office: Office;

const ask = async (
  who: string,
  method: 'get' | 'put' | 'post' | 'delete',
  url: string,
  body?: object,
  tag?: string,
) => {
  const request = office.http[method](url).set(office.headersOf(who));
  if (tag !== undefined) void request.set('If-Match', tag);
  const answer = await (body === undefined ? request : request.send(body));
  return { status: answer.status, body: answer.body as Row, etag: answer.headers['etag'] ?? '' };
};

const graphql = async (who: string, query: string): Promise<Row> =>
  (await office.as(who).http.post('/graphql').send({ query })).body as Row;

const url = (date: string): string => `${DRIVE}/shifts/${date}/day`;

/** By UTC, whatever the calendar of the site says. */
const aDay = (date: string, remark?: string): object => ({
  ...idleDay(date, remark),
  startsAt: `${date}T06:00:00Z`,
  endsAt: `${date}T18:00:00Z`,
});

const submitted = async (date: string): Promise<string> =>
  (await ask('anna', 'put', url(date), aDay(date))).etag;

/** Bypasses the service and the rules on time: makes the record as old as the case needs. */
const past = async (date: string, set: string): Promise<void> => {
  const triggers = ['shift_life', 'with_parties', 'shift_balances'];
  const all = (what: string): string => triggers.map((name) => `${what} trigger ${name}`).join(', ');
  await office.sql(`alter table shift ${all('disable')};
    update shift set ${set} where shift_date = '${date}';
    alter table shift ${all('enable')}`);
};

const since = (date: string, instant: string): Promise<void> => past(date, `submitted_at = '${instant}'`);

const acceptance = async (date: string): Promise<Row | undefined> =>
  (await sent<Row[]>(office, 'sven', 'get', `${DRIVE}/shift-acceptance?from=${date}&to=${date}`))[0];

/** The acceptance at an instant, based on the current record. */
const acceptedAt = async (date: string, instant: string): Promise<unknown[]> => {
  const [row] = await foundAt(
    office,
    instant,
    'select acceptance, respond_by::text, deemed_on::text from report_as_of.shift_acceptance where shift_date = $1',
    [date],
  );
  return [row?.['acceptance'], row?.['respond_by'], row?.['deemed_on']];
};

const project = { name: 'Trial', timeZone: 'Europe/Zurich', dayStart: '06:00', currency: 'EUR' };

const CLAUSE = 'Cl. 12.1: accepted unless answered within 7 days';

beforeAll(async () => {
  office = await startOffice(
    'olga',
    MEMBERS.map(([who]) => who),
  );
  await aProject(office.as('olga'));
  await sent(office, 'olga', 'put', PROJECT, project);
  for (const { code, ...party } of [CON, SUP, CLI])
    await sent(office, 'olga', 'put', `${PROJECT}/parties/${code}`, party);
  for (const [who, role, party] of MEMBERS)
    await sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles: [role], party });
});

afterAll(() => office.close());

describe('the rule of deemed acceptance', () => {
  it('is project data, dated by when it comes into force', async () => {
    await submitted('2027-03-01');
    expect(await acceptance('2027-03-01')).toMatchObject({
      acceptance: 'submitted',
      respondBy: null,
      ruleDays: null,
    });
    const rules = `${PROJECT}/acceptance-rules`;
    expect((await ask('boris', 'put', `${rules}/2024-01-01`, { days: 7, clause: CLAUSE })).status).toBe(403);
    for (const [body, pointer] of [
      [{ days: 0, clause: CLAUSE }, '/days'],
      [{ days: 366, clause: CLAUSE }, '/days'],
      [{ days: 7, clause: ' ' }, '/clause'],
    ] as const)
      expect((await ask('olga', 'put', `${rules}/2024-01-01`, body)).body['errors']).toEqual([
        expect.objectContaining({ pointer }),
      ]);
    const first = { validFrom: '2024-01-01', days: 7, clause: CLAUSE, pays: false };
    expect(await sent(office, 'olga', 'put', `${rules}/2024-01-01`, { days: 7, clause: CLAUSE })).toEqual({
      ...first,
      inForce: false,
      agreedContractor: null,
      agreedClient: null,
    });
    // one side alone cannot set the rule: it is in force once the other agrees to it
    await since('2027-03-01', '2024-03-22T23:30:00Z');
    expect(await acceptance('2027-03-01')).toMatchObject({ acceptance: 'submitted', ruleDays: null });
    const agree = (who: string, words: object = { days: 7, clause: CLAUSE }) =>
      ask(who, 'post', `${rules}/2024-01-01/agree`, words);
    const otherWords = await agree('cleo', { days: 70, clause: CLAUSE, pays: true });
    expect([otherWords.status, otherWords.body['errors']]).toEqual([
      409,
      [
        expect.objectContaining({
          pointer: '/days',
          value: 70,
          detail: expect.stringContaining('says days 7'),
        }),
        expect.objectContaining({ pointer: '/pays', value: true }),
      ],
    ]);
    expect((await agree('anna')).status).toBe(403);
    expect(said(await agree('nora'))).toEqual([
      403,
      'nora acts for no party of the project: nobody agrees to the acceptance rule from 2024-01-01 without one',
    ]);
    expect((await agree('sven')).body).toMatchObject({
      ...first,
      inForce: false,
      agreedContractor: null,
      agreedClient: { by: 'sven', party: SUP },
    });
    expect((await agree('quinn')).body).toMatchObject({ inForce: false }); // of the same side
    expect(await acceptance('2027-03-01')).toMatchObject({ acceptance: 'submitted', ruleDays: null });
    expect((await agree('cleo')).body).toMatchObject({
      ...first,
      inForce: true,
      agreedContractor: { by: 'cleo', at: expect.stringMatching(/\+0[12]:00$/), party: CON }, // the clock of the project
      agreedClient: { by: 'sven', party: SUP },
    });
    // putting the same words again is not agreement, even by somebody who acts for a side
    const later = { days: 14, clause: CLAUSE };
    await sent(office, 'olga', 'put', `${rules}/2030-01-01`, later);
    await sent(office, 'olga', 'put', `${PROJECT}/members/olga`, { roles: ['administrator'], party: 'CLI' });
    expect(await sent(office, 'olga', 'put', `${rules}/2030-01-01`, later)).toMatchObject({
      inForce: false,
      agreedClient: null,
    });
    await sent(office, 'olga', 'put', `${PROJECT}/members/olga`, { roles: ['administrator'] });
    expect((await ask('olga', 'delete', `${rules}/2030-01-01`)).status).toBe(204);
    // where one side is enough, a rule is in force at once, unless it pays: then both sides must agree
    const lone = { ...project, signaturesByOneParty: 'Clause 1: one organisation' };
    await sent(office, 'olga', 'put', PROJECT, lone);
    expect(await sent(office, 'olga', 'put', `${rules}/2030-02-01`, later)).toMatchObject({ inForce: true });
    const paying = { ...later, pays: true };
    expect(await sent(office, 'olga', 'put', `${rules}/2030-02-01`, paying)).toMatchObject({
      inForce: false,
    });
    expect((await ask('olga', 'delete', `${rules}/2030-02-01`)).status).toBe(204);
    await sent(office, 'olga', 'put', PROJECT, project);
    // nor can one side change or lift it
    const ended =
      'the acceptance rule from 2024-01-01 is in force between two sides: it can be ended only by one from a later date';
    expect(said(await ask('olga', 'put', `${rules}/2024-01-01`, { days: 70, clause: CLAUSE }))).toEqual([
      409,
      ended,
    ]);
    expect(said(await ask('olga', 'delete', `${rules}/2024-01-01`))).toEqual([409, ended]);
    expect((await ask('olga', 'put', `${rules}/2024-01-01`, { days: 7, clause: CLAUSE })).status).toBe(200);
    const put = `mutation { putAcceptanceRule(project: "P1", validFrom: "2024-06-01", input: { clause: "Amendment 2: none" }) { validFrom days } }`;
    expect(await graphql('olga', put)).toEqual({
      data: { putAcceptanceRule: { validFrom: '2024-06-01', days: null } },
    });
    const word = (clause: string): string =>
      `mutation { agreeAcceptanceRule(project: "P1", validFrom: "2024-06-01", input: { clause: "${clause}" }) { inForce } }`;
    expect(await graphql('cleo', word('Amendment 2: none'))).toEqual({
      data: { agreeAcceptanceRule: { inForce: false } },
    });
    // other words are a separate proposal
    const other = { clause: 'Amendment 2: none at all' };
    expect(await sent(office, 'olga', 'put', `${rules}/2024-06-01`, other)).toMatchObject({
      agreedContractor: null,
    });
    await graphql('cleo', word(other.clause));
    expect(await graphql('quinn', word(other.clause))).toEqual({
      data: { agreeAcceptanceRule: { inForce: true } },
    });
    expect(
      await graphql('sven', '{ project(project: "P1") { acceptanceRules { validFrom days } } }'),
    ).toEqual({
      data: {
        project: {
          acceptanceRules: [
            { validFrom: '2024-01-01', days: 7 },
            { validFrom: '2024-06-01', days: null },
          ],
        },
      },
    });
  });
});

describe('a shift without an answer', () => {
  it('is deemed accepted from the day after the period, by local time, and never signed', async () => {
    // 22 March 23:30 UTC is 23 March 00:30 in Zurich: 7 days after the 23rd end with the 30th; the 31st begins at 23:00 UTC.
    await since('2027-03-01', '2024-03-22T23:30:00Z');
    expect(await acceptedAt('2027-03-01', '2024-03-30T22:59:59Z')).toEqual(['submitted', '2024-03-30', null]);
    expect(await acceptedAt('2027-03-01', '2024-03-30T23:00:00Z')).toEqual([
      'deemed_accepted',
      '2024-03-30',
      '2024-03-31',
    ]);
    const deemed = {
      state: 'submitted',
      acceptance: 'deemed_accepted',
      respondBy: '2024-03-30',
      deemedOn: '2024-03-31',
      ruleDays: 7,
      ruleClause: CLAUSE,
      countersignedBy: null,
      signatures: null,
    };
    expect(await acceptance('2027-03-01')).toMatchObject({ ...deemed, postedFor: CON });
    const fields = `state acceptance respondBy deemedOn ruleDays ruleClause countersignedBy signatures`;
    expect(
      await graphql('sven', `{ drive(project: "P1", drive: "N") { shiftAcceptance { ${fields} } } }`),
    ).toEqual({ data: { drive: { shiftAcceptance: [deemed] } } });
    expect(await sent(office, 'sven', 'get', `${url('2027-03-01')}/versions`)).toMatchObject([
      { state: 'submitted', countersignedBy: null, signatures: null },
      {
        state: 'submitted',
        submittedAt: '2024-03-23T00:30:00+01:00',
        countersignedBy: null,
        signatures: null,
      },
    ]);
  });

  it('follows the rule in force on the day of its submission', async () => {
    await submitted('2027-03-02');
    await since('2027-03-02', '2024-05-31T21:59:00Z'); // 23:59 on 31 May in Zurich: 7 days after, 7 June
    expect(await acceptance('2027-03-02')).toMatchObject({
      acceptance: 'deemed_accepted',
      deemedOn: '2024-06-08',
    });
    await since('2027-03-02', '2024-05-31T22:00:00Z'); // 1 June: from then on no shift is deemed accepted
    expect(await acceptance('2027-03-02')).toMatchObject({
      acceptance: 'submitted',
      respondBy: null,
      ruleDays: null,
    });
  });

  it('does not count in a valuation, which lists those deemed accepted separately', async () => {
    await sent(office, 'quinn', 'put', `${DRIVE}/bills/V1`, {
      validFrom: '2027-01-01',
      currency: 'EUR',
      items: [
        { reference: 'T.1', description: 'Advance', unit: 'm', quantity: '1000', rate: '10', decimals: 2 },
      ],
    });
    expect(
      await sent(office, 'quinn', 'put', `${DRIVE}/valuations/1`, { cutOff: '2027-03-02' }),
    ).toMatchObject({
      openShiftCount: 2,
      deemedShiftCount: 1,
    });
  });

  it('can still be countersigned', async () => {
    const { etag } = await ask('sven', 'get', url('2027-03-01'));
    expect((await ask('sven', 'post', `${url('2027-03-01')}/countersign`, undefined, etag)).status).toBe(200);
    expect(await acceptance('2027-03-01')).toMatchObject({
      acceptance: 'countersigned',
      respondBy: null,
      deemedOn: null,
      countersignedFor: SUP,
      signatures: 'two_parties',
    });
  });
});

describe('a shift that is disputed', () => {
  const dispute = (who: string, date: string, tag: string, reason = 'bolts not seen') =>
    ask(who, 'post', `${url(date)}/dispute`, { reason }, tag);

  it('is disputed by the other side, for a reason, while it is submitted', async () => {
    const date = '2027-03-03';
    const tag = await submitted(date);
    expect(said(await dispute('boris', date, tag))).toEqual([
      403,
      'shift 2027-03-03 day is by anna for CON, and boris acts for CON: the other side disputes it',
    ]);
    expect((await dispute('anna', date, tag)).status).toBe(403);
    expect((await dispute('sven', date, tag, ' ')).status).toBe(422);
    expect((await dispute('sven', date, '"other"')).status).toBe(412);
    expect((await dispute('sven', date, tag)).body).toMatchObject({ state: 'submitted', etag: tag });
    await since(date, '2024-03-22T23:30:00Z');
    await past(date, `disputed_at = '2024-03-30T22:59:59Z'`);
    expect(await acceptance(date)).toMatchObject({
      acceptance: 'disputed',
      respondBy: null,
      deemedOn: null,
      disputedBy: 'sven',
      disputedFor: SUP,
      disputeReason: 'bolts not seen',
    });
    const [version] = (await sent<Row[]>(office, 'sven', 'get', `${url(date)}/versions`)).slice(-1);
    expect(version).toMatchObject({ postedBy: ['anna'], postedFor: CON, disputedBy: 'sven' });
  });

  it('is no longer disputed in its next version', async () => {
    const date = '2027-03-03';
    const { etag } = await ask('anna', 'get', url(date));
    const before = Date.now();
    expect((await ask('anna', 'put', url(date), aDay(date, 'bolts counted again'), etag)).status).toBe(200);
    const now = await acceptance(date);
    expect(now).toMatchObject({ acceptance: 'submitted', disputedBy: null, disputeReason: null });
    expect(Date.parse(now?.['submittedAt'] as string)).toBeGreaterThan(before - 60_000);
  });

  it('is disputed too late once it is deemed accepted, which is shown', async () => {
    const date = '2027-03-04';
    const tag = JSON.stringify(await submitted(date));
    await since(date, '2024-03-22T23:30:00Z');
    const mutation = `mutation { disputeShift(project: "P1", drive: "N", date: "${date}", shift: "day", ifMatch: ${tag}, reason: "late") { state } }`;
    expect(await graphql('sven', mutation)).toEqual({ data: { disputeShift: { state: 'submitted' } } });
    expect(await acceptance(date)).toMatchObject({
      acceptance: 'deemed_accepted',
      deemedOn: '2024-03-31',
      disputedBy: 'sven',
      disputeReason: 'late',
    });
    // at the very moment at which it is deemed accepted too
    await past(date, `disputed_at = '2024-03-30T23:00:00Z'`);
    expect(await acceptance(date)).toMatchObject({
      acceptance: 'deemed_accepted',
      respondBy: '2024-03-30',
      deemedOn: '2024-03-31',
    });
  });

  it('cannot be disputed as a draft, nor once it is countersigned', async () => {
    const date = '2027-03-05';
    const draft = await ask('anna', 'put', url(date), { ...aDay(date), state: 'draft' });
    expect(said(await dispute('sven', date, draft.etag))).toEqual([
      409,
      'shift 2027-03-05 day is draft, not submitted',
    ]);
    expect(await acceptance(date)).toMatchObject({ acceptance: 'draft', submittedAt: null });
    const { etag } = await ask('sven', 'get', url('2027-03-01'));
    expect((await dispute('sven', '2027-03-01', etag)).status).toBe(409);
  });
});
