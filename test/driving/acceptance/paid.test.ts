import { aProject } from '../../builders/project.js';
import { CLI, CON, DRIVE, MEMBERS, PROJECT, said, SUP } from '../../access/party-people.js';
import { idleDay } from '../../builders/days.js';
import { type Office, startOffice } from '../../harness/office.js';
import { sent } from '../../payment/valuations/contract.js';

// Whether deemed acceptance pays is project data, agreed by both sides. Two shifts bore 4 m each in class A at 10 EUR/m: the first is
// countersigned, the second left unanswered.

type Row = Record<string, unknown>;

let office: Office;

const rule = `${PROJECT}/acceptance-rules`;
const valuation = `${DRIVE}/valuations/1`;

const ask = async (who: string, method: 'get' | 'put' | 'post', url: string, body?: object, tag?: string) => {
  const request = office.http[method](url).set(office.headersOf(who));
  if (tag !== undefined) void request.set('If-Match', tag);
  const answer = await (body === undefined ? request : request.send(body));
  return {
    status: answer.status,
    body: answer.body as Row,
    etag: answer.headers['etag'] ?? '',
    text: answer.text,
  };
};

const bored = async (date: string, number: number, from: string, to: string): Promise<string> => {
  const shift = idleDay(date);
  const [whole] = shift.activities;
  if (whole === undefined) throw new Error('an idle day has an activity');
  const at = (hour: string) => `${date}T${hour}:00:00Z`;
  const document = {
    ...shift,
    strokes: [{ number, borings: [{ from, to, startedAt: at('06'), endedAt: at('07') }] }],
    activities: [
      { code: 'BORE', startedAt: at('06'), endedAt: at('07') },
      { ...whole, startedAt: at('07') },
    ],
    ground: [{ groundClass: 'A', from, to }],
  };
  const { status, text, etag } = await ask('anna', 'put', `${DRIVE}/shifts/${date}/day`, document);
  if (status !== 201) throw new Error(text);
  return etag;
};

const lines = async () => {
  const { body } = await ask('quinn', 'get', valuation);
  const [line] = body['lines'] as Row[];
  return { ...body, line };
};

beforeAll(async () => {
  office = await startOffice(
    'olga',
    MEMBERS.map(([who]) => who),
  );
  await aProject(office.as('olga'));
  for (const { code, ...party } of [CON, SUP, CLI])
    await sent(office, 'olga', 'put', `${PROJECT}/parties/${code}`, party);
  for (const [who, role, party] of MEMBERS)
    await sent(office, 'olga', 'put', `${PROJECT}/members/${who}`, { roles: [role], party });
  await sent(office, 'quinn', 'put', `${DRIVE}/bills/V1`, {
    validFrom: '2027-01-01',
    currency: 'EUR',
    items: [
      {
        reference: 'T.1',
        description: 'Advance',
        unit: 'm',
        quantity: '1000',
        rate: '10',
        decimals: 2,
      },
    ],
  });
  const byClass = { source: 'advance', dimension: 'length', classes: ['A'] };
  await sent(office, 'quinn', 'put', `${DRIVE}/bills/V1/rules/T.1`, byClass);
  const signed = await bored('2027-03-01', 1, '1+200', '1+204');
  await ask('sven', 'post', `${DRIVE}/shifts/2027-03-01/day/countersign`, undefined, signed);
  await bored('2027-03-02', 2, '1+204', '1+208');
  const triggers = ['shift_life', 'with_parties', 'shift_balances'];
  const all = (what: string): string => triggers.map((name) => `${what} trigger ${name}`).join(', ');
  await office.sql(`alter table shift ${all('disable')};
    update shift set submitted_at = '2024-03-22T12:00:00Z' where shift_date = '2027-03-02';
    alter table shift ${all('enable')}`);
  const words = { days: 7, clause: 'Cl. 12.1' };
  await sent(office, 'olga', 'put', `${rule}/2024-01-01`, words);
  for (const who of ['sven', 'cleo']) await sent(office, who, 'post', `${rule}/2024-01-01/agree`, words);
  await sent(office, 'quinn', 'put', valuation, { cutOff: '2027-03-02' });
});

afterAll(() => office.close());

it('is not paid unless the rule says so', async () => {
  expect(await lines()).toMatchObject({
    openShiftCount: 1,
    deemedShiftCount: 1,
    amount: '40.00',
    line: { quantity: '4.00', deemedShifts: null },
  });
});

it('is paid under a rule of both sides, line by line and without a signature', async () => {
  // submitted on 22 March 2024: by the rule from 22 March, the last one begun
  const words = { days: 7, clause: 'Amendment 1', pays: true };
  await sent(office, 'olga', 'put', `${rule}/2024-03-22`, words);
  await sent(office, 'sven', 'post', `${rule}/2024-03-22/agree`, words);
  expect(await lines()).toMatchObject({ amount: '40.00' }); // agreed by one side only
  await sent(office, 'cleo', 'post', `${rule}/2024-03-22/agree`, words);
  expect(await lines()).toMatchObject({
    openShiftCount: 0,
    deemedShiftCount: 0,
    heldCount: 0,
    amount: '80.00', // 8 m at 10; the class that the shift noted counts with it
    line: { quantity: '8.00', heldQuantity: '0.00', deemedShifts: ['2027-03-02/day'] },
  });
  expect(await sent(office, 'sven', 'get', `${DRIVE}/shift-acceptance?from=2027-03-02`)).toMatchObject([
    {
      state: 'submitted',
      acceptance: 'deemed_accepted',
      rulePays: true,
      countersignedBy: null,
      signatures: null,
    },
  ]);
  const query = `{ drive(project: "P1", drive: "N") { valuation(number: 1) { lines { deemedShifts } } } }`;
  const answer = await office.as('quinn').http.post('/graphql').send({ query });
  expect(answer.body).toMatchObject({
    data: { drive: { valuation: { lines: [{ deemedShifts: ['2027-03-02/day'] }] } } },
  });
});

it('is not paid while it is disputed in time', async () => {
  const dispute = async (set: string): Promise<void> => {
    const triggers = (what: string) =>
      `alter table shift ${what} trigger shift_life, ${what} trigger with_parties`;
    await office.sql(triggers('disable'));
    await office.sql(`update shift set ${set} where shift_date = '2027-03-02'`);
    await office.sql(triggers('enable'));
  };
  await dispute(`disputed_at = '2024-03-25T00:00:00Z', disputed_by = 'sven', dispute_reason = 'not seen'`);
  expect(await lines()).toMatchObject({ openShiftCount: 1, amount: '40.00' });
  const again = await ask(
    'sven',
    'post',
    `${valuation}/agree`,
    undefined,
    (await ask('sven', 'get', valuation)).etag,
  );
  expect(said(await ask('quinn', 'post', `${valuation}/certify`, undefined, again.etag))[0]).not.toBe(200);
  await dispute('disputed_at = null, disputed_by = null, dispute_reason = null');
  await sent(office, 'quinn', 'put', valuation, { cutOff: '2027-03-02' }); // a draft again
});

it('is certified with the line as paid, and verified from the record', async () => {
  const agreed = await ask(
    'cleo',
    'post',
    `${valuation}/agree`,
    undefined,
    (await ask('cleo', 'get', valuation)).etag,
  );
  expect(agreed.status).toBe(200);
  const certified = await ask('quinn', 'post', `${valuation}/certify`, undefined, agreed.etag);
  expect([certified.status, certified.body]).toMatchObject([200, { state: 'certified', amount: '80.00' }]);
  expect(await lines()).toMatchObject({ state: 'certified', line: { deemedShifts: ['2027-03-02/day'] } });
  expect(await sent(office, 'quinn', 'get', `${valuation}/verification`)).toMatchObject({ equal: true });
  const { text } = await ask('quinn', 'get', `${valuation}/export.csv`);
  const [names = '', row = ''] = text.split('\r\n');
  expect(row.split(',')[names.split(',').indexOf('deemed_shifts')]).toBe('"2027-03-02/day"');
});
