import type {
  MeasurementCheck,
  MeasurementRule,
} from '../../../src/features/payment/measurement/measurement.models.js';
import type { Office } from '../../harness/office.js';
import { aDay, booked, sent, startContract } from './contract.js';
import {
  at,
  BILL,
  DAY,
  G,
  groutingSite,
  hole,
  MICRO,
  mix,
  PROBING,
  ROUND,
  toDate,
} from './grouting-round.js';
import { cellsOf } from './sheet.js';

// Payment of grouting and probing. Worked by hand.

let office: Office;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

const { aDrive, aRound, drafted, certified, sourcesOf, aMonth } = groutingSite(() => office);

const checked = (place: string, until = '2027-03-31'): Promise<MeasurementCheck> =>
  sent(office, 'vera', 'get', `${place}/measurement-check?until=${until}`);

it('grouting that ended in a countersigned shift is measured, each hole and mix once', async () => {
  const place = await aMonth();
  const draft = await drafted(place, 1);
  // G1 and G2: 24 + 20.5 m; 1.5 + 1 h; 600 + 400 + 500.25 kg, 1100.25 of it micro; 800 + 450 + 620.5 l; 400 kg and 10 %
  expect(toDate(draft)).toEqual({
    'G.1': '2',
    'G.2': '44.5',
    'G.3': '2.50',
    'G.4': '1500.25',
    'G.5': '1.10025',
    'G.6': '1.8705',
    'G.7': '440.0',
    'G.8': '0.0',
    'P.1': '60.0',
    'P.2': '30.0',
    'P.3': '1',
  });
  expect(await sourcesOf(place, 1, 'G.4')).toMatchObject([
    {
      source: 'grouting',
      sourceKey: 'grouting/R1/G1/1',
      quantity: '600',
      shiftDate: DAY,
      shiftName: 'day',
      fromChainage: '1+200.500',
      toChainage: '1+200.500',
      effect: 'measured',
    },
    { sourceKey: 'grouting/R1/G1/2', quantity: '400' },
    { sourceKey: 'grouting/R1/G2/1', quantity: '500.25', fromChainage: '1+201.000' },
  ]);
  expect((await sourcesOf(place, 1, 'G.3')).map(({ sourceKey, quantity }) => [sourceKey, quantity])).toEqual([
    ['grouting/R1/G1', '5400'],
    ['grouting/R1/G2', '3600'],
  ]);
  // by chainage and by class, as the collars lie
  const [intervals, classes] = await Promise.all(
    ['intervals?lengthM=1', 'ground-classes'].map((split) =>
      sent<Record<string, string>[]>(office, 'vera', 'get', `${place}/valuations/1/${split}`),
    ),
  );
  const of = (shares: Record<string, string>[] = [], key: string) =>
    shares.filter(({ reference }) => reference === 'G.4').map((share) => [share[key], share['quantity']]);
  expect(of(intervals, 'fromChainage')).toEqual([
    ['1+200.000', '1000'],
    ['1+201.000', '500.25'],
  ]);
  expect(of(classes, 'groundClass')).toEqual([
    ['A', '1000'],
    ['B', '500.25'],
  ]);
  const { body: workbook } = await office.http
    .get(`${place}/valuations/1/export.xlsx`)
    .set(office.headersOf('vera'))
    .buffer(true)
    .parse((response, done) => {
      const parts: Buffer[] = [];
      response.on('data', (part: Buffer) => parts.push(part));
      response.on('end', () => done(null, Buffer.concat(parts)));
    });
  const words = Object.values(cellsOf(workbook as Buffer, 2).cells).flatMap(({ text }) => text ?? []);
  expect(words.filter((text) => text.startsWith('grouting/R1/G1'))).toHaveLength(
    // G.1 to G.3, its mixes under G.4 and G.6, and one each under G.5 and G.7
    3 + 2 * 2 + 1 + 1,
  );
});

it('the check names what no rule measures, what no countersigned shift holds, and what is measured twice', async () => {
  const place = await aMonth();
  const full = await checked(place);
  const ofGrouting = ({ unmeasured }: MeasurementCheck) =>
    unmeasured
      .filter(({ source }) => source === 'grouting')
      .map(({ code, recordCount, firstKey, lastKey, reason }) => [
        code,
        recordCount,
        firstKey,
        lastKey,
        reason,
      ]);
  expect(ofGrouting(full)).toEqual([
    ['hole', 2, 'grouting/R1/G3', 'grouting/R1/G4', 'no_countersigned_shift'],
  ]);
  expect(full.twice).toContainEqual({
    version: 'V1',
    reference: 'G.4',
    otherReference: 'G.5',
    recordCount: 2,
    firstKey: 'grouting/R1/G1/1',
  });
  expect(full.rules.find(({ reference }) => reference === 'G.6')).toMatchObject({
    recordCount: 3,
    quantity: '1.8705',
    incompleteCount: 0,
  });
  // a round that ends on the day before the limit, and one without an end
  expect(ofGrouting(await checked(place, '2027-02-28'))).toEqual([]);
  await aRound(place, 'R2', { ...ROUND, state: 'under_way', endedAt: undefined, holes: [hole('H', {})] });
  expect(ofGrouting(await checked(place, '2027-02-28'))).toEqual([
    ['hole', 1, 'grouting/R2/H', 'grouting/R2/H', 'no_countersigned_shift'],
  ]);
  const bare = await aDrive(BILL.filter(({ reference }) => reference === 'G.5'));
  await booked(office, DAY, aDay(DAY, 1, '1+200', '1+202'), bare);
  await aRound(bare, 'R1', ROUND);
  expect(ofGrouting(await checked(bare))).toEqual([
    ['hole', 2, 'grouting/R1/G3', 'grouting/R1/G4', 'no_countersigned_shift'],
    ['hole', 2, 'grouting/R1/G1', 'grouting/R1/G2', 'no_rule'],
    ['mix', 1, 'grouting/R1/G1/2', 'grouting/R1/G1/2', 'no_rule'],
  ]);
});

it('a volume or a time that is not recorded counts as 0 and is reported', async () => {
  const place = await aDrive();
  await booked(office, DAY, aDay(DAY, 1, '1+200', '1+202'), place);
  await aRound(place, 'R1', {
    ...ROUND,
    holes: [hole('G1', { endedAt: at('12:00:00'), mixes: [mix('Resin', '5')] })],
  });
  expect(toDate(await drafted(place, 1))).toMatchObject({
    'G.1': '1',
    'G.3': '0.00',
    'G.4': '5.00',
    'G.6': '0.0000',
  });
  const { rules } = await checked(place);
  expect(
    rules.filter(({ incompleteCount }) => incompleteCount > 0).map(({ reference }) => reference),
  ).toEqual(['G.3', 'G.6']);
  expect(await sourcesOf(place, 1, 'G.6')).toMatchObject([
    { sourceKey: 'grouting/R1/G1/1', effect: 'incomplete' },
  ]);
});

it('an agreed quantity does not change unnoticed, and a certified one is corrected by the next valuation', async () => {
  const place = await aMonth();
  await drafted(place, 1);
  await sent(office, 'boris', 'post', `${place}/valuations/1/agree`);
  const [first, ...others] = ROUND.holes as [object, ...object[]];
  const corrected = {
    ...ROUND,
    holes: [{ ...first, mixes: [mix('Micro cement', '650', '860')] }, ...others],
  };
  await aRound(place, 'R1', corrected);
  const refused = await office.http
    .post(`${place}/valuations/1/certify`)
    .set(office.headersOf('clara'))
    .send();
  expect(refused.status).toBe(409);
  await aRound(place, 'R1', ROUND);
  await sent(office, 'clara', 'post', `${place}/valuations/1/certify`);
  await aRound(place, 'R1', corrected);
  const second = await drafted(place, 2, '2027-04-30');
  // 650 for 600, and 400 less
  expect(second.lines.find(({ reference }) => reference === 'G.4')).toMatchObject({
    previousQuantity: '1500.25',
    quantity: '-350.00',
    toDateQuantity: '1150.25',
  });
  expect(
    (await sourcesOf(place, 2, 'G.4')).map(({ sourceKey, effect, quantity }) => [
      sourceKey,
      effect,
      quantity,
    ]),
  ).toEqual([
    ['grouting/R1/G1/1', 'corrected', '50'],
    ['grouting/R1/G1/2', 'removed', '-400'],
  ]);
  await certified(place, 2);
  await sent(office, 'anna', 'delete', `${place}/grouting-rounds/R1`);
  expect(toDate(await drafted(place, 3, '2027-05-31'))).toMatchObject({
    'G.1': '0',
    'G.2': '0.0',
    'G.4': '0.00',
    'P.1': '60.0',
  });
});

it('a disputed hole is withheld', async () => {
  const place = await aMonth();
  await sent(office, 'boris', 'post', `${place}/quantity-disputes`, {
    ...{ reference: 'G.2', sourceKey: 'grouting/R1/G1', reason: 'counted once before' },
  });
  const { lines } = await drafted(place, 1);
  expect(lines.find(({ reference }) => reference === 'G.2')).toMatchObject({
    toDateQuantity: '20.5',
    heldQuantity: '24.0',
  });
});

it.each([
  [{ ...G, dimension: 'area' }, 'G.2', '/dimension', 'it is measured by count, length, hours, mass, volume'],
  [{ ...G, dimension: 'mass' }, 'G.2', '/dimension', 'it is measured in kg or t'],
  [{ ...G, dimension: 'length', ...MICRO }, 'G.2', '/materials', 'materials does not fit dimension length'],
  [
    { ...G, dimension: 'length', methods: ['cored'] },
    'G.2',
    '/methods',
    'methods does not fit source grouting',
  ],
  [
    { ...PROBING, dimension: 'length', purposes: ['pre_grouting'] },
    'P.1',
    '/purposes',
    'does not fit source probing',
  ],
  [{ ...PROBING, dimension: 'length', methods: ['dug'] }, 'P.1', '/methods/0', 'percussive, cored'],
  [{ source: 'support', dimension: 'mass', ...MICRO }, 'G.4', '/materials', 'does not fit source support'],
])('a rule %j is refused', async (rule, reference, pointer, detail) => {
  const place = await aDrive();
  const { status, body } = await office.http
    .put(`${place}/bills/V1/rules/${reference}`)
    .set(office.headersOf('clara'))
    .send(rule);
  expect(status).toBe(422);
  expect(body.errors).toContainEqual(
    expect.objectContaining({ pointer, detail: expect.stringContaining(detail) }),
  );
});

it('a rule is answered as it was put, and in plain text', async () => {
  const place = await aDrive();
  const rule = { ...G, dimension: 'mass', purposes: ['pre_grouting'], ...MICRO };
  const answer = await sent<MeasurementRule>(office, 'clara', 'put', `${place}/bills/V1/rules/G.4`, rule);
  expect(answer).toMatchObject({
    ...rule,
    sentence:
      'The dry mass of grout in pre grouting of Micro cement ended in countersigned shifts; in kg, rounded once to 2 decimals.',
  });
  const probing = await sent<MeasurementRule>(office, 'vera', 'get', `${place}/bills/V1/rules/P.2`);
  expect(probing).toMatchObject({
    methods: ['percussive'],
    sentence:
      'The length of probe holes drilled by percussive method drilled in countersigned shifts; in m, rounded once to 1 decimal.',
  });
});
