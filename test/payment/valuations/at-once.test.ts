import pg from 'pg';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, booked, drafted, ITEMS, PLACE, sent, startContract } from './contract.js';

// Signing, writing and changing at the same time: whatever comes first, nothing is certified twice and nothing is lost.

let office: Office;

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', ITEMS);
  await booked(
    office,
    '2027-03-01',
    aDay('2027-03-01', 1, '1+200', '1+202', (shift) =>
      shift.withGround('A', '1+200', '1+202').withSupport('BOLT', '1+200', '1+202', '7'),
    ),
  );
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-03-31`, { percent: '40' });
  await drafted(office, 1, '2027-03-31');
  await sent(office, 'boris', 'post', `${PLACE}/valuations/1/agree`);
});

afterAll(() => office.close());

const signed = async (who: string, number: number): Promise<{ status: number; detail?: string }> => {
  const { status, body } = await office.http
    .post(`${PLACE}/valuations/${number}/certify`)
    .set(office.headersOf(who));
  return { status, detail: body.detail };
};

it('when two certify at once, one succeeds', async () => {
  const answers = await Promise.all([signed('clara', 1), signed('dora', 1)]);
  expect(answers.map(({ status }) => status).sort()).toEqual([200, 409]);
  expect(answers.find(({ status }) => status === 409)?.detail).toBe(
    'valuation 1 is certified and cannot be changed',
  );
  const [{ n } = { n: 0 }] = await office.sql<{ n: number }>('select count(*)::int as n from certified_line');
  expect(n).toBe(ITEMS.length);
});

it('certifying waits for what is being written, and sees it', async () => {
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-04-30`, { percent: '50' });
  await drafted(office, 2, '2027-04-30');
  await sent(office, 'boris', 'post', `${PLACE}/valuations/2/agree`);
  const writer = new pg.Client({ connectionString: office.url });
  await writer.connect();
  try {
    await writer.query('begin');
    await writer.query(`update lump_progress set percent = 45 where day = '2027-04-30'`);
    const certifying = signed('clara', 2);
    // until it waits for a lock
    for (let waiting = false; !waiting;)
      waiting = (await writer.query('select from pg_locks where not granted')).rowCount! > 0;
    await writer.query('commit');
    expect(await certifying).toEqual({
      status: 409,
      detail: 'the record has changed since valuation 2 was agreed: it must be agreed again',
    });
  } finally {
    await writer.end();
  }
});

it('changing a draft and certifying it do not both succeed', async () => {
  await sent(office, 'boris', 'post', `${PLACE}/valuations/2/agree`);
  const [put, certify] = await Promise.all([
    office.http
      .put(`${PLACE}/valuations/2`)
      .set(office.headersOf('dora'))
      .send({ cutOff: '2027-04-29' })
      .then(({ status }) => status),
    signed('clara', 2).then(({ status }) => status),
  ]);
  expect([put, certify].sort()).toEqual([200, 409]);
  const { state, cutOff } = await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/2`);
  expect([state, cutOff]).toEqual(put === 200 ? ['draft', '2027-04-29'] : ['certified', '2027-04-30']);
});

it('a valuation put unchanged keeps its signatures, whatever follows it', async () => {
  const read = (number: number): Promise<Valuation> =>
    sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/${number}`);
  const first = await read(1);
  if ((await read(2)).state === 'draft') await sent(office, 'boris', 'post', `${PLACE}/valuations/2/agree`);
  const second = await read(2);
  for (const each of [first, second])
    expect(await sent(office, 'dora', 'put', `${PLACE}/valuations/${each.number}`, each)).toEqual(each);
  expect([await read(1), await read(2)]).toEqual([first, second]);
  expect([first.state, second.state]).toEqual(['certified', expect.stringMatching(/agreed|certified/)]);
});
