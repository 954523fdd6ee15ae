import type {
  MeasurementCheck,
  MeasurementRule,
} from '../../../src/features/payment/measurement/measurement.models.js';
import type { LineSourcePage } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import { aShift } from '../../builders/shift.js';
import type { Office } from '../../harness/office.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { aBill, aDay, anotherDrive, booked, type Item, sent, startContract } from './contract.js';
import { cellsOf } from './sheet.js';

// Grouting and probing as they are paid. Worked by hand.

let office: Office;
let drives = 0;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

const item = (reference: string, unit: string, decimals: number, rule: object): Item => ({
  reference,
  unit,
  decimals,
  rate: '10',
  rule,
});

const G = { source: 'grouting' };
const MICRO = { materials: ['Micro cement'] };
const PROBING = { source: 'probing' };

const BILL: Item[] = [
  item('G.1', 'nr', 0, { ...G, dimension: 'count' }),
  item('G.2', 'm', 1, { ...G, dimension: 'length' }),
  item('G.3', 'h', 2, { ...G, dimension: 'hours' }),
  item('G.4', 'kg', 2, { ...G, dimension: 'mass' }),
  item('G.5', 't', 5, { ...G, dimension: 'mass', ...MICRO }),
  item('G.6', 'm3', 4, { ...G, dimension: 'volume' }),
  item('G.7', 'kg', 1, { ...G, dimension: 'mass', materials: ['Portland cement'], allowancePercent: '10' }),
  item('G.8', 'm', 1, { ...G, dimension: 'length', purposes: ['post_grouting'] }),
  item('P.1', 'm', 1, { ...PROBING, dimension: 'length' }),
  item('P.2', 'm', 1, { ...PROBING, dimension: 'length', methods: ['percussive'] }),
  item('P.3', 'nr', 0, { ...PROBING, dimension: 'count', methods: ['cored'] }),
];

const DAY = '2027-03-01';
const at = (time: string, date = DAY): string => `${date}T${time}Z`;

const hole = (name: string, more: object): object => ({
  name,
  collar: '1+201',
  lookOutDeg: '5',
  lengthM: '10',
  ...more,
});

const mix = (material: string, massKg: string, volumeL?: string): object => ({ material, massKg, volumeL });

/** Holes that end in the shift, as it ends, a second after it, and with the round after it. */
const ROUND = {
  purpose: 'pre_grouting',
  state: 'complete',
  from: '1+202',
  to: '1+222',
  startedAt: at('08:00:00'),
  endedAt: at('20:00:00'),
  holes: [
    hole('G1', {
      ...{ collar: '1+200.5', lengthM: '24', startedAt: at('10:30:00'), endedAt: at('12:00:00') },
      mixes: [mix('Micro cement', '600', '800'), mix('Portland cement', '400', '450')],
    }),
    hole('G2', {
      ...{ lengthM: '20.5', startedAt: at('17:00:00'), endedAt: at('18:00:00') },
      mixes: [mix('Micro cement', '500.25', '620.5')],
    }),
    hole('G3', { endedAt: at('18:00:01'), mixes: [mix('Micro cement', '7', '9')] }),
    hole('G4', { mixes: [mix('Micro cement', '7', '9')] }),
  ],
};

const aDrive = async (items = BILL): Promise<string> => {
  drives += 1;
  const drive = `G${drives}`;
  const place = await anotherDrive(office, drive);
  await aBill(office, 'V1', '2027-01-01', items, 'EUR', drive);
  return place;
};

const aRound = (place: string, name: string, body: object) =>
  sent(office, 'anna', 'put', `${place}/grouting-rounds/${name}`, body);

const aProbe = (place: string, name: string, body: object) =>
  sent(office, 'anna', 'put', `${place}/probe-holes/${name}`, {
    ...{ collar: '1+201', lookOutDeg: '5', drilledAt: at('09:00:00') },
    ...body,
  });

const drafted = (place: string, number: number, cutOff = '2027-03-31'): Promise<Valuation> =>
  sent(office, 'clara', 'put', `${place}/valuations/${number}`, { cutOff });

const certified = async (place: string, number: number): Promise<void> => {
  await sent(office, 'boris', 'post', `${place}/valuations/${number}/agree`);
  await sent(office, 'clara', 'post', `${place}/valuations/${number}/certify`);
};

const toDate = ({ lines }: Valuation): Record<string, string> =>
  Object.fromEntries(lines.map(({ reference, toDateQuantity }) => [reference, toDateQuantity]));

const sourcesOf = async (place: string, number: number, reference: string) => {
  const url = `${place}/valuations/${number}/lines/${reference}/sources`;
  return (await sent<LineSourcePage>(office, 'vera', 'get', url)).items;
};

const checked = (place: string, until = '2027-03-31'): Promise<MeasurementCheck> =>
  sent(office, 'vera', 'get', `${place}/measurement-check?until=${until}`);

const aMonth = async (): Promise<string> => {
  const place = await aDrive();
  await booked(
    office,
    DAY,
    aDay(DAY, 1, '1+200', '1+202', (shift) =>
      shift.withGround('A', '1+200', '1+201').withGround('B', '1+201', '1+202'),
    ),
    place,
  );
  await aRound(place, 'R1', ROUND);
  await aProbe(place, 'PH1', { lengthM: '30', method: 'percussive' });
  await aProbe(place, 'PH2', { lengthM: '20', method: 'cored' });
  await aProbe(place, 'PH3', { lengthM: '10' });
  return place;
};

it('what ended in a countersigned shift is measured, each hole and mix once', async () => {
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
  // an end of the round on the day before the until, and none at all
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

it('a volume or a time that is not noted counts as nothing and is reported', async () => {
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

it('what was agreed does not change unseen, and what was certified is corrected by the next valuation', async () => {
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

it('what was certified is not paid again where the sums of shifts are kept', async () => {
  const place = await aMonth();
  await drafted(place, 1);
  await certified(place, 1);
  const next = '2027-04-01';
  await booked(office, next, aDay(next, 2, '1+202', '1+204'), place);
  await aRound(place, 'R2', {
    ...{ purpose: 'post_grouting', state: 'complete', from: '1+200', to: '1+202' },
    ...{ startedAt: at('08:00:00', next), endedAt: at('12:00:00', next) },
    holes: [
      hole('G1', {
        ...{ startedAt: at('09:00:00', next), endedAt: at('09:45:00', next) },
        mixes: [mix('Micro cement', '100', '130')],
      }),
    ],
  });
  const [drive] = await office.sql<{ id: number; project: number }>(
    'select id, project_id as project from drive where code = $1',
    [place.split('/').at(-1)],
  );
  const { id, project } = drive!;
  const client = await serviceSession(office.url);
  try {
    const keep = async (): Promise<void> => {
      await client.query('begin');
      await client.query(`select set_config('drivebook.project', $1, true)`, [String(project)]);
      await client.query('select report_kept.keep_draft_sums($1, 0)', [id]);
      await client.query('commit');
    };
    await keep();
    const lines = (isKept: boolean) =>
      `(select json_agg(to_jsonb(l) order by l.pay_item_id)::text from draft_line_in($1, '2027-04-30', ${isKept}) l)`;
    const [both] = await takenBack(client, project, () =>
      rowsOf<{ kept: string; measured: string; shifts: number }>(
        client,
        `select ${lines(true)} as kept, ${lines(false)} as measured,
          (select cardinality(shift_ids) from draft_kept_of($1, '2027-04-30')) as shifts`,
        [id],
      ),
    );
    expect(both!.shifts).toBe(2);
    expect(both!.kept).toBe(both!.measured);
  } finally {
    await client.end();
  }
  // one hole of 10 m, 45 min, 100 kg and 130 l more; no probe hole
  const second = await drafted(place, 2, '2027-04-30');
  expect(
    Object.fromEntries(second.lines.map((line) => [line.reference, [line.previousQuantity, line.quantity]])),
  ).toEqual({
    'G.1': ['2', '1'],
    'G.2': ['44.5', '10.0'],
    'G.3': ['2.50', '0.75'],
    'G.4': ['1500.25', '100.00'],
    'G.5': ['1.10025', '0.10000'],
    'G.6': ['1.8705', '0.1300'],
    'G.7': ['440.0', '0.0'],
    'G.8': ['0.0', '10.0'],
    'P.1': ['60.0', '0.0'],
    'P.2': ['30.0', '0.0'],
    'P.3': ['1', '0'],
  });
});

it('a hole that ends as one shift hands over to the next belongs to the one that ends', async () => {
  const place = await aDrive();
  const signed = async (date: string, name: string, document: object): Promise<void> => {
    const url = `${place}/shifts/${date}/${name}`;
    await sent(office, 'anna', 'put', url, document);
    const { headers } = await office.http.get(url).set(office.headersOf('boris'));
    const answer = await office.http
      .post(`${url}/countersign`)
      .set(office.headersOf('boris'))
      .set('If-Match', headers['etag'] ?? '');
    expect(answer.status).toBe(200);
  };
  // 06:00 to 18:00, 18:00 to 06:00, and the next day's
  const next = '2027-03-02';
  await signed(DAY, 'day', aDay(DAY, 1, '1+200', '1+202'));
  await signed(
    DAY,
    'night',
    aShift(DAY, 'night').submitted().withActivity('MAINT', '18:00', '+1 06:00').build(),
  );
  await signed(next, 'day', aDay(next, 2, '1+202', '1+204'));
  await aRound(place, 'R1', {
    ...ROUND,
    endedAt: at('12:00:00', next),
    holes: [
      hole('EVENING', { endedAt: at('18:00:00'), mixes: [mix('Micro cement', '1', '1')] }),
      hole('AFTER', { endedAt: at('18:00:01'), mixes: [mix('Micro cement', '10', '1')] }),
      hole('MORNING', { endedAt: at('06:00:00', next), mixes: [mix('Micro cement', '100', '1')] }),
      hole('LATER', { endedAt: at('06:00:01', next), mixes: [mix('Micro cement', '1000', '1')] }),
    ],
  });
  // the night is one of the day on which it begins
  expect(toDate(await drafted(place, 1, DAY))).toMatchObject({ 'G.1': '3', 'G.4': '111.00' });
  await certified(place, 1);
  expect(toDate(await drafted(place, 2, next))).toMatchObject({ 'G.1': '4', 'G.4': '1111.00' });
  const shiftsOf = async (number: number) =>
    (await sourcesOf(place, number, 'G.1')).map(({ sourceKey, shiftDate, shiftName }) => [
      sourceKey.split('/').at(-1),
      `${shiftDate} ${shiftName}`,
    ]);
  expect(Object.fromEntries(await shiftsOf(1))).toEqual({
    EVENING: `${DAY} day`,
    AFTER: `${DAY} night`,
    MORNING: `${DAY} night`,
  });
  expect(await shiftsOf(2)).toEqual([['LATER', `${next} day`]]);
});

it('a disputed hole is held apart', async () => {
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
  [{ ...PROBING, dimension: 'length', methods: ['dug'] }, 'P.1', '/methods', 'percussive, cored'],
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

it('a rule is answered as it was put, and in words', async () => {
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
