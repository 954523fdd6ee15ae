import type { LineSourcePage, Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, booked, certified, drafted, ITEMS, PLACE, sent, startContract } from './contract.js';

// A class that is proposed, disputed, withdrawn and agreed between valuations: the note pays until it is agreed, and the difference is held.
// Four metres of 38.484510 m² with 12 bolts, noted as A; for the last two the class is not agreed.

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

const effects = async (number: number, reference: string): Promise<unknown[][]> =>
  (
    await sent<LineSourcePage>(
      office,
      'vera',
      'get',
      `${PLACE}/valuations/${number}/lines/${reference}/sources`,
    )
  ).items.map(({ sourceKey, effect, groundClass, quantity, heldQuantity, basis, contested }) => [
    sourceKey,
    effect,
    groundClass,
    quantity,
    heldQuantity,
    basis,
    contested,
  ]);

/** Boris proposes the class of the last two metres; clara agrees or disputes. */
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

it('a valuation measures by the class noted', async () => {
  // 4 · 38.484510 = 153.938; at least 6 bolts per metre of A; at most 2 per metre
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

describe('two metres of it, of which the class is not agreed', () => {
  const whole = {
    'T.1': ['4.00', '0.00', '0.00'],
    'T.2': ['153.9', '0.0', '0.0'],
    'B.1': ['12', '0', '0'],
    'B.2': ['24', '0', '0'],
    'B.3': ['8', '0', '0'],
  };

  it('are paid as noted when B is proposed, and what B would add is held', async () => {
    await decided(1, 'B');
    await drafted(office, 2, '2027-04-30');
    // 2 · 38.484510 = 76.969 m³ of B, paid as A: before, one person's proposal moved it from A to B
    expect(await lines(2)).toEqual({
      ...whole,
      'T.3': ['0.0', '0.0', '77.0'],
      'L.1': ['0.4000', '0.0000', '0.0000'],
    });
    expect(await effects(2, 'T.3')).toEqual([
      [
        '2027-03-01/day/boring/0.000',
        'held',
        'B',
        '0',
        '76.969020013',
        null,
        [{ number: 1, state: 'proposed', groundClass: 'B' }],
      ],
    ]);
    expect(await effects(2, 'T.2')).toEqual([
      [
        '2027-03-01/day/boring/0.000',
        'contested',
        'A',
        '0',
        '0',
        'noted',
        [{ number: 1, state: 'proposed', groundClass: 'B' }],
      ],
    ]);
  });

  it('are paid as noted when B is disputed, on the line, by class and by chainage', async () => {
    await decided(1, 'B', 'dispute');
    // formerly the dispute removed them from A: 77.0 paid and 77.0 held of 153.9
    expect(await lines(2)).toMatchObject({ ...whole, 'T.3': ['0.0', '0.0', '77.0'] });
    const contested = [{ number: 1, state: 'disputed', groundClass: 'B' }];
    const valuation = await sent<Valuation>(office, 'vera', 'get', `${PLACE}/valuations/2`);
    expect(valuation.lines.map((line) => [line.reference, line.basis, line.contested])).toEqual([
      ['T.1', null, null],
      ['T.2', 'noted', contested],
      ['T.3', null, contested],
      ['L.1', null, null],
      ['B.1', null, null],
      ['B.2', 'noted', contested],
      ['B.3', null, null],
    ]);
    const query = `{ drive(project: "P1", drive: "N") { valuation(number: 2) { lines { reference basis contested { number state groundClass } } }
      valuationSources(number: 2, reference: "T.3") { nodes { heldQuantity contested { number state groundClass } } } } }`;
    const asked = await office.as('vera').http.post('/graphql').send({ query });
    expect(asked.body.data.drive).toMatchObject({
      valuation: { lines: expect.arrayContaining([{ reference: 'T.3', basis: null, contested }]) },
      valuationSources: { nodes: [{ heldQuantity: '76.969020013', contested }] },
    });
    const split = async (query: string): Promise<unknown[]> =>
      (await sent<{ reference: string }[]>(office, 'vera', 'get', `${PLACE}/valuations/2/${query}`)).filter(
        ({ reference }) => reference === 'T.2' || reference === 'T.3',
      );
    expect(await split('ground-classes')).toEqual([
      expect.objectContaining({
        reference: 'T.2',
        groundClass: 'A',
        quantity: '153.9',
        heldQuantity: '0',
      }),
      expect.objectContaining({
        reference: 'T.3',
        groundClass: 'B',
        quantity: '0',
        heldQuantity: '77',
      }),
    ]);
    // 153.9 of two equal halves of 76.969: rounded down 76.9 + 76.9, and the first gets the remaining step
    const place = { fromChainage: '1+202.000', toChainage: '1+204.000' };
    expect(await split('intervals?lengthM=2')).toEqual([
      expect.objectContaining({ reference: 'T.2', quantity: '77', heldQuantity: '0' }),
      expect.objectContaining({ reference: 'T.2', ...place, quantity: '76.9', heldQuantity: '0' }),
      expect.objectContaining({ reference: 'T.3', ...place, quantity: '0', heldQuantity: '77' }),
    ]);
  });

  it('hold nothing where the class in dispute is the one noted', async () => {
    await decided(1, 'B', 'withdraw');
    await decided(2, 'A', 'dispute');
    expect(await lines(2)).toMatchObject({ ...whole, 'T.3': ['0.0', '0.0', '0.0'] });
    await decided(2, 'A', 'withdraw');
  });

  it('are certified as held, and verified', async () => {
    await decided(4, 'B', 'dispute');
    const contested = [{ number: 4, state: 'disputed', groundClass: 'B' }];
    const valuation = await certified(office, 2);
    expect(valuation).toMatchObject({ state: 'certified', heldCount: 1 });
    expect(valuation.lines.find(({ reference }) => reference === 'T.3')).toMatchObject({
      heldQuantity: '77.0',
      contested,
    });
    expect(await sent(office, 'vera', 'get', `${PLACE}/valuations/2/verification`)).toMatchObject({
      equal: true,
      differences: [],
    });
  });

  it('count by the note when the dispute is withdrawn, and as B when B is agreed', async () => {
    await decided(4, 'B', 'withdraw');
    await drafted(office, 3, '2027-05-31');
    expect(await lines(3)).toMatchObject({ ...whole, 'T.3': ['0.0', '0.0', '0.0'] });
    await decided(3, 'B', 'agree');
    expect(await lines(3)).toMatchObject({
      'T.1': ['4.00', '0.00', '0.00'],
      // 76.969 + 76.969 = 153.938 → 153.9: rounded down 76.9 each, and of equal remainders the first gets the step
      'T.2': ['77.0', '-76.9', '0.0'],
      'T.3': ['76.9', '76.9', '0.0'],
      'B.1': ['12', '0', '0'],
      // at least 6 bolts per metre of A, and 2 m of A are left
      'B.2': ['12', '-12', '0'],
    });
    expect((await effects(3, 'T.3'))[0]?.slice(-2)).toEqual(['agreed', []]);
    await certified(office, 3);
    expect((await sent(office, 'vera', 'get', `${PLACE}/valuations/3/verification`)).equal).toBe(true);
  });
});

describe('without a countersigned note', () => {
  const contested = async (reference: string): Promise<unknown> =>
    (await effects(4, reference)).map((row) => row.slice(1));

  it('no class governs, and what a proposal would add is held under its class', async () => {
    await booked(
      office,
      '2027-04-01',
      aDay('2027-04-01', 2, '1+204', '1+206', (shift) => shift.withSupport('BOLT', '1+204', '1+206', '4')),
    );
    await sent(office, 'boris', 'put', `${PLACE}/class-decisions/10`, {
      from: '1+204',
      to: '1+206',
      groundClass: 'A',
    });
    await drafted(office, 4, '2027-06-30');
    // 2 m and 4 bolts more; of A 77.0 and the minimum of 12 as before, 76.969 m³ and 4 bolts held
    expect(await lines(4)).toMatchObject({
      'T.1': ['6.00', '2.00', '0.00'],
      'T.2': ['77.0', '0.0', '77.0'],
      'T.3': ['76.9', '0.0', '0.0'],
      'B.1': ['16', '4', '0'],
      'B.2': ['12', '0', '4'],
    });
    expect(await contested('B.2')).toEqual([
      ['held', 'A', '0', '4', null, [{ number: 10, state: 'proposed', groundClass: 'A' }]],
    ]);
  });

  it('a note of a shift that is not countersigned is held until it is', async () => {
    const proposal = `${PLACE}/class-decisions/10`;
    const { etag } = await sent<{ etag: string }>(office, 'vera', 'get', proposal);
    await office.http.delete(proposal).set(office.headersOf('boris')).set('If-Match', etag).expect(204);
    // in July, after the cut-off: otherwise it would change what June pays, with one signature
    const later = aDay('2027-07-01', 3, '1+206', '1+207', (shift) => shift.withGround('A', '1+204', '1+207'));
    await sent(office, 'anna', 'put', `${PLACE}/shifts/2027-07-01/day`, later);
    expect(await lines(4)).toMatchObject({ 'T.2': ['77.0', '0.0', '77.0'], 'B.2': ['12', '0', '4'] });
    expect(await contested('B.2')).toEqual([
      ['held', 'A', '0', '4', null, [{ number: null, state: 'noted', groundClass: 'A' }]],
    ]);
    await booked(office, '2027-07-01', later);
    // 4 m of A give at least 24 bolts
    expect(await lines(4)).toMatchObject({ 'T.2': ['153.9', '76.9', '0.0'], 'B.2': ['24', '12', '0'] });
  });
});

describe('a dispute of certified work', () => {
  it('holds the whole record, and says so', async () => {
    await sent(office, 'boris', 'post', `${PLACE}/quantity-disputes`, {
      reference: 'B.1',
      sourceKey: '2027-03-01/day/support/1',
      reason: 'not tested',
    });
    await drafted(office, 4, '2027-06-30');
    expect((await lines(4))['B.1']).toEqual(['4', '-8', '12']);
    expect(await effects(4, 'B.1')).toEqual([
      ['2027-03-01/day/support/1', 'held', 'A', '-6', '6', 'noted', []],
      ['2027-03-01/day/support/1', 'held', 'B', '-6', '6', 'agreed', []],
      ['2027-04-01/day/support/1', 'measured', 'A', '4', '0', 'noted', []],
    ]);
    await certified(office, 4);
    await sent(office, 'clara', 'post', `${PLACE}/quantity-disputes/1/settle`, { settlement: 'tested' });
    await drafted(office, 5, '2027-07-31');
    expect((await lines(5))['B.1']).toEqual(['16', '12', '0']);
  });

  it('does not hold reductions, such as progress that was lowered', async () => {
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
      'lump/L.1/2027-03-20 reduces item L.1: only records that add to it can be disputed',
    ]);
    // disputed while it adds 20 % to 40 %, then the 40 % become 80 %, and it deducts 20 %
    await progress('2027-03-20', '60');
    expect((await dispute()).status).toBe(201);
    expect((await lines(5))['L.1']).toEqual(['0.4000', '0.0000', '0.2000']);
    await progress('2027-03-10', '80');
    expect((await lines(5))['L.1']).toEqual(['0.6000', '0.2000', '0.0000']);
    expect(await certified(office, 5)).toMatchObject({ state: 'certified', heldCount: 0 });
    expect((await sent(office, 'vera', 'get', `${PLACE}/valuations/5/verification`)).equal).toBe(true);
  });
});
