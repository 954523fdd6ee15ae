import type pg from 'pg';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import { type Office } from '../../harness/office.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import { aBill, aDay, anotherDrive, booked, type Item, sent, startContract } from './contract.js';

// Lines that divide the same records are rounded together, so that what is paid is what was installed. Worked by hand.

let office: Office;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

const BOLTS = { source: 'support', dimension: 'count', items: ['BOLT'] };
const MESH = { source: 'support', dimension: 'area', items: ['MESH'] };

const item = (reference: string, unit: string, decimals: number, rule: object): Item => ({
  reference,
  unit,
  decimals,
  rate: '10',
  rule,
});

/** A drive whose classes A and B meet at 1+201, with support over 1+200 to 1+202 from the builder, under a bill. */
const measured = async (
  drive: string,
  items: Item[],
  more: Parameters<typeof aDay>[4],
): Promise<{ place: string; valuation: Valuation }> => {
  const place = await anotherDrive(office, drive);
  await aBill(office, 'V1', '2027-01-01', items, 'EUR', drive);
  const day = aDay('2027-03-01', 1, '1+200', '1+202', (shift) =>
    (more?.(shift) ?? shift).withGround('A', '1+200', '1+201').withGround('B', '1+201', '1+202'),
  );
  await booked(office, '2027-03-01', day, place);
  const valuation = await sent<Valuation>(office, 'clara', 'put', `${place}/valuations/1`, {
    cutOff: '2027-03-31',
  });
  return { place, valuation };
};

const lines = ({ lines }: Valuation): unknown[] =>
  lines.map(({ reference, toDateQuantity, roundedWith }) => [reference, toDateQuantity, roundedWith]);

describe('five bolts over 1+200 to 1+202, the classes meeting at 1+201, two items without decimals', () => {
  let place: string;
  let valuation: Valuation;
  const TOGETHER = ['B.A', 'B.B'];

  beforeAll(async () => {
    ({ place, valuation } = await measured(
      'BOLTS',
      [
        item('B.A', 'nr', 0, { ...BOLTS, classes: ['A'] }),
        item('B.B', 'nr', 0, { ...BOLTS, classes: ['B'] }),
      ],
      (shift) => shift.withSupport('BOLT', '1+200', '1+202', '5'),
    ));
  });

  // at 200.2, 200.6 | 201.0, 201.4, 201.8: two in A and three in B, five paid
  it('are two and three, five paid: by REST', () => {
    expect(lines(valuation)).toEqual([
      ['B.A', '2', TOGETHER],
      ['B.B', '3', TOGETHER],
    ]);
    expect(valuation.amount).toBe('50.00');
  });

  it('by GraphQL', async () => {
    const { body } = await office.http.post('/graphql').set(office.headersOf('clara')).send({
      query: `{ drive(project: "P1", drive: "BOLTS") { valuation(number: 1) { lines { reference toDateQuantity roundedWith } } } }`,
    });
    expect(body.errors).toBeUndefined();
    expect(lines(body.data.drive.valuation as Valuation)).toEqual([
      ['B.A', '2', TOGETHER],
      ['B.B', '3', TOGETHER],
    ]);
  });

  it('and by SQL', async () => {
    const rows = await office.sql(
      `select reference, to_date_quantity::float8 as quantity from report.valuation_line where drive_code = 'BOLTS' order by 1`,
    );
    expect(rows).toEqual([
      { reference: 'B.A', quantity: 2 },
      { reference: 'B.B', quantity: 3 },
    ]);
  });

  it('are two and three by class, and whole bolts by chainage', async () => {
    const byClass = await sent<Record<string, string>[]>(
      office,
      'clara',
      'get',
      `${place}/valuations/1/ground-classes`,
    );
    expect(byClass.map(({ groundClass, quantity }) => [groundClass, quantity])).toEqual([
      ['A', '2'],
      ['B', '3'],
    ]);
    const byPlace = await sent<Record<string, string>[]>(
      office,
      'clara',
      'get',
      `${place}/valuations/1/intervals?lengthM=1`,
    );
    expect(
      byPlace.map(({ reference, fromChainage, quantity }) => [reference, fromChainage, quantity]),
    ).toEqual([
      ['B.A', '1+200.000', '2'],
      ['B.B', '1+201.000', '3'],
    ]);
  });

  it('are certified so, and measured again give the same', async () => {
    await sent(office, 'boris', 'post', `${place}/valuations/1/agree`);
    const certified = await sent<Valuation>(office, 'clara', 'post', `${place}/valuations/1/certify`);
    expect(lines(certified)).toEqual(lines(valuation));
    const verified = await sent<{ equal: boolean }>(
      office,
      'clara',
      'get',
      `${place}/valuations/1/verification`,
    );
    expect(verified.equal).toBe(true);
  });
});

describe('a quantity that is not counted', () => {
  it('is rounded together: 10.5 m² half in each class are 11 in all, and 6 + 5', async () => {
    // 5.25 + 5.25 = 10.5 → 11; each rounded down is 5, one step remains, and of equal remainders the first gets it
    const { valuation } = await measured(
      'MESH',
      [item('M.A', 'm2', 0, { ...MESH, classes: ['A'] }), item('M.B', 'm2', 0, { ...MESH, classes: ['B'] })],
      (shift) => shift.withSupport('MESH', '1+200', '1+202', '10.5'),
    );
    expect(lines(valuation)).toEqual([
      ['M.A', '6', ['M.A', 'M.B']],
      ['M.B', '5', ['M.A', 'M.B']],
    ]);
  });

  it('with supply and installation as separate items: each pair by itself, in any order', async () => {
    // 2.5 + 2.5 = 5 → 3 + 2 for each of the two; the item for all classes is rounded by itself
    const { valuation } = await measured(
      'TWICE',
      [
        item('S.A', 'm2', 0, { ...MESH, classes: ['A'] }),
        item('I.A', 'm2', 0, { ...MESH, classes: ['A'] }),
        item('S.B', 'm2', 0, { ...MESH, classes: ['B'] }),
        item('I.B', 'm2', 0, { ...MESH, classes: ['B'] }),
        item('W', 'm2', 0, MESH),
      ],
      (shift) => shift.withSupport('MESH', '1+200', '1+202', '5'),
    );
    expect(lines(valuation)).toEqual([
      ['S.A', '3', ['S.A', 'S.B']],
      ['I.A', '3', ['I.A', 'I.B']],
      ['S.B', '2', ['S.A', 'S.B']],
      ['I.B', '2', ['I.A', 'I.B']],
      ['W', '5', null],
    ]);
  });

  it('to different decimals: to the coarsest of them, in tonnes and kilograms too', async () => {
    // Rings of 580 kg over 2 m: one at 200.5, one at 201.5, and one at 201.2 by its chainage: 580 and 1160 kg, 1740 in all. To 100 kg: 1700
    // (17.4 steps); rounded down 5 and 11 steps, the remainders 0.8 and 0.6: one step more for the first, 600 + 1100
    const mass = { source: 'support', dimension: 'mass', items: ['TH29'] };
    const { place, valuation } = await measured(
      'MASS',
      [item('R.A', 't', 1, { ...mass, classes: ['A'] }), item('R.B', 'kg', 0, { ...mass, classes: ['B'] })],
      (shift) =>
        shift
          .withSupport('TH29', '1+200', '1+202', '2')
          .withSupport('TH29', '1+201', '1+202', '1', { positions: ['1+201.200'] }),
    );
    expect(lines(valuation)).toEqual([
      ['R.A', '0.6', ['R.A', 'R.B']],
      ['R.B', '1100', ['R.A', 'R.B']],
    ]);
    // and the measurement check warns of it, before anything is paid
    const check = await sent<{ mixedDecimals: unknown }>(
      office,
      'clara',
      'get',
      `${place}/measurement-check?until=2027-03-31`,
    );
    const mixedDecimals = [{ version: 'V1', references: ['R.A', 'R.B'], step: '100' }];
    expect(check.mixedDecimals).toEqual(mixedDecimals);
    const query = `{ drive(project: "P1", drive: "MASS") { measurementCheck(until: "2027-03-31") { mixedDecimals { version references step } } } }`;
    const { body } = await office.http.post('/graphql').set(office.headersOf('clara')).send({ query });
    expect(body.data.drive.measurementCheck).toEqual({ mixedDecimals });
    const rows = await office.sql(
      `select bill_version, reference_list, step::float8 as step from report.mixed_decimals('P1', 'MASS', '2027-03-31')`,
    );
    expect(rows).toEqual([{ bill_version: 'V1', reference_list: ['R.A', 'R.B'], step: 100 }]);
  });

  it('keeps a billionth of a share up to the line: 100 m² over a metre and a half, a metre in A, at 4.4 kg/m²', async () => {
    // 440 kg · 2 / 3; of 66.667 m², a share to the thousandth, it would be 293.334800
    await sent(office, 'olga', 'put', '/v1/projects/P1/support-items/FINE', {
      kind: 'mesh',
      unit: 'm2',
      description: 'Fine mesh',
      massKgPerM2: '4.4',
    });
    const { valuation } = await measured(
      'SHARE',
      [item('F.A', 'kg', 6, { source: 'support', dimension: 'mass', items: ['FINE'], classes: ['A'] })],
      (shift) => shift.withSupport('FINE', '1+200', '1+201.5', '100'),
    );
    expect(lines(valuation)).toEqual([['F.A', '293.333333', null]]);
  });

  it('of zones: an item for all zones in A divides with those of each zone in B, and other items with none', async () => {
    // L1: 1.5 + 1.5, L2: 0.7 + 0.7. In A 2.2, in B 1.5 and 0.7; 4.4 → 4: rounded down 2, 1 and 0, the remaining step goes to the remainder 0.7
    const { valuation } = await measured(
      'ZONES',
      [
        item('M.A', 'm2', 0, { ...MESH, classes: ['A'] }),
        item('M.B1', 'm2', 0, { ...MESH, classes: ['B'], zones: ['L1'] }),
        item('M.B2', 'm2', 0, { ...MESH, classes: ['B'], zones: ['L2'] }),
        item('B.A', 'nr', 0, { ...BOLTS, classes: ['A'] }),
      ],
      (shift) =>
        shift
          .withSupport('MESH', '1+200', '1+202', '3')
          .withSupport('MESH', '1+200', '1+202', '1.4', { zone: 'L2' }),
    );
    const together = ['M.A', 'M.B1', 'M.B2'];
    expect(lines(valuation)).toEqual([
      ['M.A', '2', together],
      ['M.B1', '1', together],
      ['M.B2', '1', together],
      ['B.A', '0', null],
    ]);
  });
});

describe('the database accepts', () => {
  let session: pg.Client;
  let project: number | undefined;

  beforeAll(async () => {
    session = await serviceSession(office.url);
    project = (await office.sql<{ id: number }>(`select id from project where code = 'P1'`))[0]?.id;
  });

  afterAll(() => session.end());

  /** Certifies the valuation of drive MESH, with 5.25 m² each under M.A and M.B, with the given line quantities. */
  const certified = (
    a: number,
    b: number,
    together: string | null,
  ): Promise<{ constraint?: string; state: string }> => {
    const [valuation, actor] = [
      `from valuation v join drive d on d.id = v.drive_id and d.code = 'MESH'`,
      (who: string): string => `select set_config('drivebook.actor', '${who}', true)`,
    ];
    const change = (set: string): string =>
      `update valuation v set ${set} from drive d where d.id = v.drive_id and d.code = 'MESH'`;
    return refusalOf(
      session,
      project,
      `${actor('boris')}; ${change(`state = 'agreed', digest = repeat('0', 64)`)};
      insert into certified_line (drive_id, valuation_id, pay_item_id, exact_quantity, base_per_unit, previous_quantity, quantity, to_date_quantity,
          held_quantity, previous_amount, amount, to_date_amount, source_count, digest, rounded_with)
        select d.id, v.id, l.pay_item_id, l.exact_quantity, l.base_per_unit, 0, q, q, 0, 0, q * 10, q * 10, l.source_count, l.digest,
          ${together === null ? 'null' : `'${together}'`}
        ${valuation} cross join lateral draft_line_of(d.id, v.cut_off) l join pay_item i on i.id = l.pay_item_id
        cross join lateral (select case i.reference when 'M.A' then ${a} else ${b} end as q) paid;
      insert into certified_source (drive_id, valuation_id, pay_item_id, reference, source, source_key, class_code, sequence, previous_quantity,
          quantity, to_date_quantity)
        select d.id, v.id, s.pay_item_id, s.reference, s.source::measure_source, s.source_key, s.class_code, s.sequence, 0, s.quantity, s.quantity
        ${valuation} cross join lateral draft_source_of(d.id, v.cut_off, '') s;
      ${actor('clara')}; ${change(`state = 'certified', measured_change = 1`)}`,
    );
  };

  it('lines that sum to their rounded whole', async () => {
    expect(await certified(6, 5, '{M.A,M.B}')).toEqual({ state: 'taken' });
    expect(await certified(5, 5, null)).toEqual({ state: 'taken' }); // as before: each rounded by itself
  });

  it.each<[string, number, number, string | null]>([
    ['that do not', 5, 5, '{M.A,M.B}'],
    ['a step or more away from what they measure', 7, 4, '{M.A,M.B}'],
    ['that by themselves are rounded otherwise', 6, 5, null],
    ['with others that do not exist', 6, 5, '{M.A,M.B,M.C}'],
    ['with others only', 6, 5, '{M.B}'],
  ])('no lines %s', async (_, a, b, together) => {
    expect(await certified(a, b, together)).toMatchObject({ state: 'DB001', constraint: 'valuation_sums' });
  });
});

it('a part of a line without a piece is not a record of the item, and the line is still measured', async () => {
  // one rib at 201.5 (of 1+200 to 1+203 the middle), the rule of class A covers nothing of it
  const { place } = await measured(
    'ONE',
    [item('R.A', 't', 3, { source: 'support', dimension: 'mass', items: ['TH29'], classes: ['A'] })],
    (shift) => shift.withSupport('TH29', '1+200', '1+202', '1', { positions: ['1+201.500'] }),
  );
  const rows = await office.sql(
    `select reference, record_count from report.measured_by_rule('P1', 'ONE', '2027-03-31')`,
  );
  expect(rows).toEqual([{ reference: 'R.A', record_count: 0 }]);
  const left = await office.sql(
    `select code, record_count from report.unmeasured('P1', 'ONE', '2027-03-31') where source = 'support'`,
  );
  expect(left).toEqual([{ code: 'TH29', record_count: 1 }]);
  expect(place).toContain('ONE');
});
