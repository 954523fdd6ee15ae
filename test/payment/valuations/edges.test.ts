import type {
  IntervalQuantity,
  LineSourcePage,
  Valuation,
} from '../../../src/features/payment/valuations/valuation.models.js';
import { aDrive, PROJECT } from '../../builders/project.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, booked, PLACE, sent, startContract } from './contract.js';

// A drive against the chainage, from 2+200 to 1+200, under a bill with the largest numbers allowed.

let office: Office;
const AGAINST = PLACE.replace(/\/N$/, '/S');
const LARGEST = '999999999999';
const LUMP = { reference: 'L.1', unit: 'sum', rate: LARGEST, decimals: 6, quantity: LARGEST };

const lineOf = async (number: number, reference: string) =>
  (await sent<Valuation>(office, 'vera', 'get', `${AGAINST}/valuations/${number}`)).lines.find(
    (line) => line.reference === reference,
  );

const signed = async (number: number): Promise<Valuation> => {
  await sent(office, 'boris', 'post', `${AGAINST}/valuations/${number}/agree`);
  return sent(office, 'clara', 'post', `${AGAINST}/valuations/${number}/certify`);
};

beforeAll(async () => {
  office = await startContract();
  await aDrive(office.as('olga'), {
    drive: 'S',
    startChainage: '2+200',
    endChainage: '1+200',
    direction: -1,
  });
});

afterAll(() => office.close());

it('without a bill, and before its first day, there is nothing to sign', async () => {
  const refused = async () => {
    const { status, body } = await office.http
      .post(`${AGAINST}/valuations/1/agree`)
      .set(office.headersOf('boris'));
    return [status, body.detail];
  };
  const draft = await sent<Valuation>(office, 'clara', 'put', `${AGAINST}/valuations/1`, {
    cutOff: '2026-12-31',
  });
  expect(draft).toMatchObject({ lines: [], amount: '0', currency: null, seal: null });
  expect(await refused()).toEqual([409, 'valuation 1 has no lines: no bill is in force on its cut-off']);
  await aBill(
    office,
    'V1',
    '2027-01-01',
    [
      { ...LUMP, rule: { source: 'lump', dimension: 'percent' } },
      {
        reference: 'T.1',
        unit: 'm',
        rate: LARGEST,
        decimals: 6,
        rule: { source: 'advance', dimension: 'length', maxPerM: '0' },
      },
      {
        reference: 'B.1',
        unit: 'nr',
        rate: '1',
        decimals: 0,
        rule: { source: 'support', dimension: 'count' },
      },
      { reference: 'X.1', unit: 'week', rate: '1', decimals: 0 },
    ],
    'EUR',
    'S',
  );
  expect(await refused()).toEqual([409, 'valuation 1 has no lines: no bill is in force on its cut-off']);
});

it('the largest numbers are certified exactly', async () => {
  await booked(
    office,
    '2027-03-01',
    aDay('2027-03-01', 1, '2+200', '2+198', (shift) =>
      shift.withGround('A', '2+200', '2+198').withSupport('BOLT', '2+200', '2+198', '4'),
    ),
    AGAINST,
  );
  await sent(office, 'clara', 'put', `${AGAINST}/lump-progress/L.1/2027-03-01`, { percent: '100' });
  await sent(office, 'clara', 'put', `${AGAINST}/valuations/1`, { cutOff: '2027-03-31' });
  await signed(1);
  // (10^12 − 1)² = 10^24 − 2·10^12 + 1
  expect(await lineOf(1, 'L.1')).toMatchObject({
    toDateQuantity: `${LARGEST}.000000`,
    toDateAmount: '999999999998000000000001.00',
  });
  // no metre is paid, and an item without a rule measures nothing
  expect(await lineOf(1, 'T.1')).toMatchObject({ toDateQuantity: '0.000000', sourceCount: 2 });
  expect(await lineOf(1, 'X.1')).toMatchObject({ toDateQuantity: '0', sourceCount: 0 });
});

it('places are reported on a drive against the chainage', async () => {
  const { items } = await sent<LineSourcePage>(
    office,
    'vera',
    'get',
    `${AGAINST}/valuations/1/lines/B.1/sources`,
  );
  expect(items.map(({ fromChainage, toChainage }) => [fromChainage, toChainage])).toEqual([
    ['2+200.000', '2+198.000'],
  ]);
  const parts = await sent<IntervalQuantity[]>(
    office,
    'vera',
    'get',
    `${AGAINST}/valuations/1/intervals?lengthM=1.5`,
  );
  // round chainages: 2+200 down to 2+199.5, then 2+198
  expect(
    parts
      .filter(({ reference }) => reference === 'B.1')
      .map((part) => [part.fromChainage, part.toChainage, part.quantity]),
  ).toEqual([
    ['2+200.000', '2+199.000', '2'],
    ['2+199.000', '2+197.500', '2'],
  ]);
});

it('a source without a place is in no interval', async () => {
  const parts = await sent<IntervalQuantity[]>(
    office,
    'vera',
    'get',
    `${AGAINST}/valuations/1/intervals?lengthM=100`,
  );
  expect(parts.filter(({ reference }) => reference === 'L.1')).toEqual([
    {
      version: 'V1',
      reference: 'L.1',
      unit: 'sum',
      fromChainage: null,
      toChainage: null,
      quantity: LARGEST,
      heldQuantity: '0',
    },
  ]);
});

it('progress that is lowered, or recorded late, is a correction in the next one', async () => {
  await sent(office, 'clara', 'put', `${AGAINST}/lump-progress/L.1/2027-02-15`, { percent: '10' });
  await sent(office, 'clara', 'put', `${AGAINST}/lump-progress/L.1/2027-03-01`, { percent: '25' });
  await sent(office, 'clara', 'put', `${AGAINST}/valuations/2`, { cutOff: '2027-04-30' });
  // a quarter is left: 15 % by the first of March and 10 % before
  expect(await lineOf(2, 'L.1')).toMatchObject({
    toDateQuantity: '249999999999.750000',
    quantity: '-749999999999.250000',
  });
  await signed(2);
  expect((await sent(office, 'vera', 'get', `${AGAINST}/valuations/2/verification`)).equal).toBe(true);
});

describe('the unit of an item', () => {
  const put = async (unit: string) => {
    const place = PLACE.replace(/\/N$/, '/U');
    const stands = await office.http.get(`${place}/bills/V1`).set(office.headersOf('clara'));
    const { status, body } = await office.http
      .put(`${place}/bills/V1`)
      .set(office.headersOf('clara'))
      .set('If-Match', stands.headers['etag'] ?? '')
      .send({
        validFrom: '2027-01-01',
        items: [{ reference: 'T.2', description: 'Excavation', unit, decimals: 1, rate: '95.5' }],
      });
    return [status, body.detail];
  };

  it('cannot be changed while its item is measured in it', async () => {
    await aDrive(office.as('olga'), { drive: 'U' });
    const rule = { source: 'advance', dimension: 'volume' };
    await aBill(
      office,
      'V1',
      '2027-01-01',
      [{ reference: 'T.2', unit: 'm3', rate: '95.5', decimals: 1, rule }],
      'EUR',
      'U',
    );
    expect(await put('m2')).toEqual([
      409,
      'item T.2 is measured in m3 by its rule: remove the rule before its unit becomes m2',
    ]);
    expect((await put('m³'))[0]).toBe(200);
    await sent(office, 'clara', 'delete', `/v1/projects/${PROJECT}/drives/U/bills/V1/rules/T.2`);
    expect((await put('m2'))[0]).toBe(200);
  });
});
