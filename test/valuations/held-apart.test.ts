import type { LineSourcePage, Valuation } from '../../src/features/valuations/valuation.models.js';
import type { Office } from '../support/office.js';
import { aBill, aDay, booked, certified, drafted, ITEMS, PLACE, sent, startContract } from './contract.js';

// A class that is decided, disputed and withdrawn between valuations; what is disputed is in no quantity, whatever limits there are.
// Four metres of 38.484510 m² with 12 bolts on them, noted in A; of the last two it is not agreed.

let office: Office;

const SUPPORT = { source: 'support', dimension: 'count', items: ['BOLT'] };
const COUNTED = { unit: 'nr', rate: '10', decimals: 0 };

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', [
    ...ITEMS.filter(({ reference }) => ['T.1', 'T.2', 'T.3', 'L.1'].includes(reference)),
    { ...COUNTED, reference: 'B.1', rule: SUPPORT },
    { ...COUNTED, reference: 'B.2', rule: { ...SUPPORT, classes: ['A'], minPerM: '6' } },
    { ...COUNTED, reference: 'B.3', rule: { ...SUPPORT, maxPerM: '2' } },
  ]);
  await booked(
    office,
    '2027-03-01',
    aDay('2027-03-01', 1, '1+200', '1+204', (shift) =>
      shift.withGround('A', '1+200', '1+204').withSupport('BOLT', '1+200', '1+204', '12'),
    ),
  );
  await sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/2027-03-10`, { percent: '40' });
  await drafted(office, 1, '2027-03-31');
  await certified(office, 1);
});

afterAll(() => office.close());

const lines = async (number: number): Promise<Record<string, string[]>> => {
  const valuation = await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/${number}`);
  return Object.fromEntries(
    valuation.lines.map((line) => [line.reference, [line.toDateQuantity, line.quantity, line.heldQuantity]]),
  );
};

const effects = async (number: number, reference: string): Promise<(string | null | undefined)[][]> =>
  (
    await sent<LineSourcePage>(
      office,
      'vera',
      'get',
      `${PLACE}/valuations/${number}/lines/${reference}/sources`,
    )
  ).items.map(({ sourceKey, effect, groundClass, quantity, heldQuantity }) => [
    sourceKey,
    effect,
    groundClass,
    quantity,
    heldQuantity,
  ]);

/** Boris proposes the class of the last two metres; clara answers. */
const decided = async (
  number: number,
  groundClass: string,
  ...steps: ('agree' | 'dispute' | 'withdraw')[]
): Promise<void> => {
  const url = `${PLACE}/class-decisions/${number}`;
  const named = { contractorRepresentative: 'C. Contractor', employerRepresentative: 'E. Employer' };
  if ((await office.http.get(url).set(office.headersOf('vera'))).status === 404)
    await sent(office, 'boris', 'put', url, { from: '1+202', to: '1+204', groundClass, ...named });
  for (const step of steps) {
    const { etag } = await sent<{ etag: string }>(office, 'vera', 'get', url);
    const answer = await office.http
      .post(`${url}/${step}`)
      .set(office.headersOf('clara'))
      .set('If-Match', etag)
      .send(step === 'agree' ? named : { reason: 'mapped otherwise' });
    if (answer.status !== 200) throw new Error(`${step}: ${answer.status} ${answer.text}`);
  }
};

it('measures by the class noted', async () => {
  // 4 · 38.484510 = 153.938; 6 bolts a metre of A at least; 2 a metre at most
  expect(await lines(1)).toEqual({
    'T.1': ['4.00', '4.00', '0.00'],
    'T.2': ['153.9', '153.9', '0.0'],
    'T.3': ['0.0', '0.0', '0.0'],
    'L.1': ['0.4000', '0.4000', '0.0000'],
    'B.1': ['12', '12', '0'],
    'B.2': ['24', '24', '0'],
    'B.3': ['8', '8', '0'],
  });
});

describe('two metres of it in dispute', () => {
  it('as B, are held apart from A and from B', async () => {
    await decided(1, 'B', 'dispute');
    await drafted(office, 2, '2027-04-30');
    // 2 · 38.484510 = 76.969 of A; what no rule asks a class for is measured all the same
    expect(await lines(2)).toMatchObject({
      'T.1': ['4.00', '0.00', '0.00'],
      'T.2': ['77.0', '-76.9', '0.0'],
      'T.3': ['0.0', '0.0', '77.0'],
      'B.1': ['12', '0', '0'],
      'B.2': ['12', '-12', '0'],
      'B.3': ['8', '0', '0'],
    });
    expect(await effects(2, 'T.3')).toEqual([
      ['2027-03-01/day/boring/0.000', 'held', 'B', '0', '76.969020013'],
    ]);
  });

  it('as A, are held apart though certified, and bring no minimum', async () => {
    await decided(1, 'B', 'withdraw');
    await decided(2, 'A', 'dispute');
    expect(await lines(2)).toMatchObject({
      'T.2': ['77.0', '-76.9', '77.0'],
      'T.3': ['0.0', '0.0', '0.0'],
      'B.1': ['12', '0', '0'],
      // 6 bolts on two metres of A that are not disputed: 12 at least; 6 more on the other two
      'B.2': ['12', '-12', '6'],
    });
  });

  it('are certified as held, and verified', async () => {
    expect(await certified(office, 2)).toMatchObject({ state: 'certified', heldCount: 2 });
    expect(await sent(office, 'vera', 'get', `${PLACE}/valuations/2/verification`)).toMatchObject({
      equal: true,
      differences: [],
    });
  });

  it('count again by the note when the dispute is withdrawn, and as B when that is agreed', async () => {
    await decided(2, 'A', 'withdraw');
    await drafted(office, 3, '2027-05-31');
    expect(await lines(3)).toMatchObject({ 'T.2': ['153.9', '76.9', '0.0'], 'B.2': ['24', '12', '0'] });
    await decided(3, 'B', 'agree');
    expect(await lines(3)).toMatchObject({
      'T.1': ['4.00', '0.00', '0.00'],
      'T.2': ['77.0', '0.0', '0.0'],
      'T.3': ['77.0', '77.0', '0.0'],
      'B.2': ['12', '0', '0'],
    });
    await certified(office, 3);
    expect((await sent(office, 'vera', 'get', `${PLACE}/valuations/3/verification`)).equal).toBe(true);
  });
});

describe('a dispute of what is certified', () => {
  it('holds the whole record apart, and says so', async () => {
    await sent(office, 'boris', 'post', `${PLACE}/quantity-disputes`, {
      reference: 'B.1',
      sourceKey: '2027-03-01/day/support/1',
      reason: 'not tested',
    });
    await drafted(office, 4, '2027-06-30');
    expect((await lines(4))['B.1']).toEqual(['0', '-12', '12']);
    expect(await effects(4, 'B.1')).toEqual([
      ['2027-03-01/day/support/1', 'held', 'A', '-6', '6'],
      ['2027-03-01/day/support/1', 'held', 'B', '-6', '6'],
    ]);
    await certified(office, 4);
    await sent(office, 'clara', 'post', `${PLACE}/quantity-disputes/1/settle`, { settlement: 'tested' });
    await drafted(office, 5, '2027-07-31');
    expect((await lines(5))['B.1']).toEqual(['12', '12', '0']);
  });

  it('not what takes something off: progress that was lowered', async () => {
    const lowered = { reference: 'L.1', sourceKey: 'lump/L.1/2027-03-20', reason: 'not tested' };
    const dispute = () =>
      office.http.post(`${PLACE}/quantity-disputes`).set(office.headersOf('boris')).send(lowered);
    const progress = (day: string, percent: string) =>
      sent(office, 'clara', 'put', `${PLACE}/lump-progress/L.1/${day}`, { percent });
    await progress('2027-03-20', '30');
    expect((await lines(5))['L.1']).toEqual(['0.3000', '-0.1000', '0.0000']);
    const refused = await dispute();
    expect([refused.status, refused.body.detail]).toEqual([
      422,
      'lump/L.1/2027-03-20 takes something off item L.1: what brings something to it can be disputed',
    ]);
    // disputed while it adds 20 % to 40 %, and then the 40 % are 80 % and it takes 20 % off
    await progress('2027-03-20', '60');
    expect((await dispute()).status).toBe(201);
    expect((await lines(5))['L.1']).toEqual(['0.4000', '0.0000', '0.2000']);
    await progress('2027-03-10', '80');
    expect((await lines(5))['L.1']).toEqual(['0.6000', '0.2000', '0.0000']);
    expect(await certified(office, 5)).toMatchObject({ state: 'certified', heldCount: 0 });
    expect((await sent(office, 'vera', 'get', `${PLACE}/valuations/5/verification`)).equal).toBe(true);
  });
});
