import type { ForecastLine } from '../../../src/features/payment/valuations/forecast.models.js';
import type { LineSourcePage, Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Office } from '../../harness/office.js';
import {
  aBill,
  aDay,
  booked,
  certified,
  drafted,
  type Item,
  PLACE,
  sent,
  startContract,
} from './contract.js';

// Two versions of a bill: V1 from January, V2 from April. The references stay, the rates rise; T.1 is in the first only and T.5 in the
// second only, B.3 changes its group and has a rule in the second only.

let office: Office;

const BOLTS = { source: 'support', dimension: 'count', items: ['BOLT'] };
const ofVersion = (rate: string): Item[] => [
  { reference: 'B.1', unit: 'nr', rate, decimals: 0, rule: BOLTS },
  { reference: 'B.2', unit: 'nr', rate, decimals: 0, rule: { ...BOLTS, maxPerM: '2' } },
  { reference: 'P.1', unit: 'm', rate, decimals: 1, rule: { source: 'probing', dimension: 'length' } },
  {
    reference: 'L.1',
    unit: 'sum',
    rate,
    decimals: 4,
    quantity: '1',
    rule: { source: 'lump', dimension: 'percent' },
  },
];
const ADVANCE = { unit: 'm', rate: '100', decimals: 2, rule: { source: 'advance', dimension: 'length' } };
const B3 = { reference: 'B.3', unit: 'nr', rate: '1', decimals: 0 };

const aHole = (drilledAt: string, lengthM = '30') =>
  sent(office, 'boris', 'put', `${PLACE}/probe-holes/PH1`, {
    collar: '1+201',
    lookOutDeg: '5',
    lengthM,
    drilledAt,
  });

const bolted = (date: string, stroke: number, from: string, to: string, bolts: string) =>
  booked(
    office,
    date,
    aDay(date, stroke, from, to, (shift) =>
      shift.withGround('A', from, to).withSupport('BOLT', from, to, bolts),
    ),
  );

const lines = async (number: number): Promise<Record<string, string[]>> => {
  const valuation = await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/${number}`);
  return Object.fromEntries(
    valuation.lines.map((line) => [
      `${line.version} ${line.reference}`,
      [line.previousQuantity, line.quantity, line.toDateQuantity, line.amount],
    ]),
  );
};

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', [
    ...ofVersion('10'),
    { ...ADVANCE, reference: 'T.1' },
    { ...B3, groupCode: 'S', groupTitle: 'Support' } as Item,
  ]);
  await bolted('2027-03-01', 1, '1+200', '1+202', '7');
  await aHole('2027-03-01T12:00:00Z');
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-03-31`, { percent: '40' });
  await drafted(office, 1, '2027-03-31');
  await certified(office, 1);
  await aBill(office, 'V2', '2027-04-01', [
    ...ofVersion('12'),
    { ...ADVANCE, reference: 'T.5', rate: '110' },
    { ...B3, groupCode: 'T', groupTitle: 'Other', rule: BOLTS } as Item,
  ]);
});

afterAll(() => office.close());

it('each record is paid by the version of its date; a correction by the rate that it was certified at', async () => {
  await bolted('2027-04-05', 2, '1+202', '1+205', '9');
  await bolted('2027-03-01', 1, '1+200', '1+202', '6');
  // drilled in April after all
  await aHole('2027-04-05T12:00:00Z', '31');
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-04-30`, { percent: '60' });
  await drafted(office, 2, '2027-04-30');
  expect(await lines(2)).toEqual({
    'V1 B.1': ['7', '-1', '6', '-10.00'],
    // at most 2 per metre over 2 m, as before
    'V1 B.2': ['4', '0', '4', '0.00'],
    'V1 P.1': ['30.0', '-30.0', '0.0', '-300.00'],
    'V1 L.1': ['0.4000', '0.0000', '0.4000', '0.00'],
    'V1 T.1': ['2.00', '0.00', '2.00', '0.00'],
    'V1 B.3': ['0', '0', '0', '0.00'],
    'V2 B.1': ['0', '9', '9', '108.00'],
    'V2 B.2': ['0', '6', '6', '72.00'],
    'V2 P.1': ['0.0', '31.0', '31.0', '372.00'],
    'V2 L.1': ['0.0000', '0.2000', '0.2000', '2.40'],
    'V2 T.5': ['0.00', '3.00', '3.00', '330.00'],
    'V2 B.3': ['0', '9', '9', '9.00'],
  });
});

it('records and limits of both versions are certified under one reference', async () => {
  const drafted2 = await lines(2);
  const { state } = await certified(office, 2);
  expect(state).toBe('certified');
  expect(await lines(2)).toEqual(drafted2);
  expect((await sent(office, 'vera', 'get', `${PLACE}/valuations/2/verification`)).equal).toBe(true);
});

it('pages of sources contain each of both versions once', async () => {
  const url = `${PLACE}/valuations/2/lines/B.2/sources`;
  const keys = ({ items }: LineSourcePage) =>
    items.map(({ version, sourceKey, quantity }) => [version, sourceKey, quantity]);
  const all = keys(await sent<LineSourcePage>(office, 'vera', 'get', url));
  expect(all).toEqual([
    ['V1', '2027-03-01/day/support/1', '-1'],
    ['V2', '2027-04-05/day/support/1', '9'],
    ['V1', 'limit', '1'],
    ['V2', 'limit', '-3'],
  ]);
  const paged = await Promise.all(
    [0, 1, 2, 3].map((after) => sent<LineSourcePage>(office, 'vera', 'get', `${url}?first=1&after=${after}`)),
  );
  expect(paged.flatMap(keys)).toEqual(all);
});

it('a shift moved to a day of the other version is deducted under the one and paid under the other', async () => {
  const url = `${PLACE}/shifts/2027-04-05/day`;
  const stands = await office.http.get(url).set(office.headersOf('boris'));
  const reopened = await office.http
    .post(`${url}/reopen`)
    .set(office.headersOf('boris'))
    .set('If-Match', stands.headers['etag'] ?? '')
    .send({ reason: 'of March' });
  await office.http
    .delete(url)
    .set(office.headersOf('anna'))
    .set('If-Match', reopened.headers['etag'] ?? '');
  await bolted('2027-03-20', 2, '1+202', '1+205', '9');
  await drafted(office, 3, '2027-05-31');
  expect(await lines(3)).toMatchObject({
    'V1 B.1': ['6', '9', '15', '90.00'],
    // 5 m at 2 per metre
    'V1 B.2': ['4', '6', '10', '60.00'],
    'V1 T.1': ['2.00', '3.00', '5.00', '300.00'],
    'V2 B.1': ['9', '-9', '0', '-108.00'],
    'V2 B.2': ['6', '-6', '0', '-72.00'],
    'V2 T.5': ['3.00', '-3.00', '0.00', '-330.00'],
  });
  await certified(office, 3);
  expect((await sent(office, 'vera', 'get', `${PLACE}/valuations/3/verification`)).equal).toBe(true);
});

describe('the forecast', () => {
  const lumps = async (number: number): Promise<string[][]> => {
    const forecast = await sent<ForecastLine[]>(
      office,
      'vera',
      'get',
      `${PLACE}/valuations/${number}/forecast?baseline=GBR`,
    );
    return forecast
      .filter(({ reference }) => ['L.1', 'T.1', 'T.5', 'T.6'].includes(reference))
      .map(({ version, reference, toDateQuantity, remainingQuantity }) => [
        version,
        reference,
        toDateQuantity,
        remainingQuantity,
      ]);
  };

  beforeAll(async () => {
    await sent(office, 'olga', 'put', `${PLACE}/baselines/GBR`, {
      workingHoursPerDay: '20',
      intervals: [{ from: '1+200', to: '2+200', groundClass: 'A', advanceRateMPerD: '15' }],
    });
  });

  it('includes the rest of a lump sum after its progress, whichever version paid it', async () => {
    // 60 % are done, 40 % under V1; 5 of 1000 m are bored
    expect(await lumps(3)).toEqual([
      ['V1', 'L.1', '0.4000', '0.0000'],
      ['V1', 'T.1', '5.00', '0.00'],
      ['V2', 'L.1', '0.2000', '0.4000'],
      ['V2', 'T.5', '0.00', '995.00'],
    ]);
  });

  it('uses a version that begins after the cut-off', async () => {
    await aBill(office, 'V3', '2027-09-01', [
      ...ofVersion('14'),
      { ...ADVANCE, reference: 'T.6', rate: '120' },
    ]);
    expect(await lumps(3)).toEqual([
      ['V1', 'L.1', '0.4000', '0.0000'],
      ['V1', 'T.1', '5.00', '0.00'],
      ['V2', 'L.1', '0.2000', '0.0000'],
      ['V2', 'T.5', '0.00', '0.00'],
      ['V3', 'L.1', '0.0000', '0.4000'],
      ['V3', 'T.6', '0.00', '995.00'],
    ]);
  });
});
