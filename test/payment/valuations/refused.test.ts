import type pg from 'pg';
import type { MeasurementRule } from '../../../src/features/payment/measurement/measurement.models.js';
import type { Office } from '../../harness/office.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import { aBill, aDay, booked, certified, drafted, ITEMS, PLACE, sent, startContract } from './contract.js';

// Refused writes with their reasons; the database refuses them too, whoever writes.

let office: Office;

const bolted = (date: string, stroke: number, from: string, to: string, bolts: string) =>
  aDay(date, stroke, from, to, (shift) =>
    shift.withGround('A', from, to).withSupport('BOLT', from, to, bolts),
  );

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', ITEMS);
  await booked(office, '2027-03-01', bolted('2027-03-01', 1, '1+200', '1+201.7', '8'));
});

afterAll(() => office.close());

const asked = async (
  who: string,
  method: 'get' | 'put' | 'post' | 'delete',
  path: string,
  body?: object,
  headers: Record<string, string> = {},
) => {
  const request = office.http[method](`${PLACE}${path}`).set(office.headersOf(who)).set(headers);
  const answer = await (body === undefined ? request : request.send(body));
  const { type, detail, errors } = answer.body;
  return { status: answer.status, type, detail, errors };
};

describe('a rule is refused', () => {
  const count = { source: 'support', dimension: 'count' };
  it.each([
    [
      'an item that does not exist',
      'B.1',
      { ...count, items: ['BOLT', 'NAIL'] },
      '/items/1',
      'support item NAIL is not in the project: its support items are BOLT, MESH, RIB, SPRAY, TH29',
    ],
    [
      'a class that does not exist',
      'B.1',
      { ...count, classes: ['Z'] },
      '/classes/0',
      'ground class Z is not in the project: its ground classes are A, B',
    ],
    [
      'a code that does not exist',
      'W.1',
      { source: 'time', dimension: 'hours', activities: ['NAP'] },
      '/activities/0',
      'activity code NAP is not in the project: its activity codes are BORE, MAINT',
    ],
    [
      'another unit',
      'B.1',
      { ...count, dimension: 'mass' },
      '/dimension',
      "dimension mass does not fit the item's unit nr: it is measured in kg or t",
    ],
    [
      'another source',
      'T.1',
      { source: 'advance', dimension: 'count' },
      '/dimension',
      'dimension count does not fit source advance: it is measured by length, area, volume',
    ],
    [
      'a filter that does not fit',
      'T.1',
      { source: 'advance', dimension: 'length', zones: ['L1'] },
      '/zones',
      'zones does not fit source advance',
    ],
    [
      'an item without a length',
      'B.2',
      { ...count, dimension: 'length', items: ['RIB'] },
      '/items/0',
      'RIB has no length in the catalogue',
    ],
    [
      'an item in another unit',
      'B.1',
      { ...count, items: ['MESH'] },
      '/items/0',
      'MESH is counted in m2: it has no count',
    ],
    [
      'limits that cross',
      'B.1',
      { ...count, minPerM: '3', maxPerM: '2' },
      '/minPerM',
      'minPerM 3 exceeds maxPerM 2',
    ],
    ['an empty filter', 'B.1', { ...count, items: [] }, '/items', 'omit items, or name at least one'],
  ])('with %s', async (_, reference, rule, pointer, detail) => {
    const answer = await asked('clara', 'put', `/bills/V1/rules/${reference}`, rule);
    expect([answer.status, answer.errors?.[0]?.pointer, answer.errors?.[0]?.detail]).toEqual([
      422,
      pointer,
      detail,
    ]);
  });

  it('for an item that is not in the bill', async () => {
    expect(await asked('clara', 'put', '/bills/V1/rules/X.9', count)).toMatchObject({
      status: 404,
      detail: 'There is no item X.9 in bill V1 of drive N.',
    });
  });

  it('but stays when its bill is put again', async () => {
    const stands = await office.http.get(`${PLACE}/bills/V1`).set(office.headersOf('clara'));
    const items = ITEMS.map(({ rule: _, ...item }) => ({ description: 'Another', quantity: '0', ...item }));
    const put = await asked(
      'clara',
      'put',
      '/bills/V1',
      { validFrom: '2027-01-01', items },
      { 'If-Match': stands.headers['etag'] ?? '' },
    );
    expect(put.status).toBe(200);
    const rules = await sent<MeasurementRule[]>(office, 'vera', 'get', `${PLACE}/bills/V1/rules`);
    expect(rules.map((rule) => [rule.reference, rule.description])).toEqual(
      ITEMS.map(({ reference }) => [reference, 'Another']),
    );
  });
});

describe('outside the shifts', () => {
  it('progress of an item that is not a lump sum is refused', async () => {
    expect(await asked('clara', 'put', '/lump-progress/B.1/2027-03-31', { percent: '10' })).toMatchObject({
      status: 422,
      detail: 'no bill of drive N measures item B.1 as a lump sum',
    });
    expect(await asked('clara', 'put', '/lump-progress/L.1/2027-03-31', { percent: '100.5' })).toMatchObject({
      status: 422,
    });
  });

  it('a dispute of what is not measured, an open one, and a settled one are refused', async () => {
    const of = (sourceKey: string) => ({ reference: 'B.1', sourceKey, reason: 'counted twice' });
    expect(await asked('boris', 'post', '/quantity-disputes', of('2027-03-01/day/support/7'))).toMatchObject({
      status: 422,
      detail: 'item B.1 measures no record 2027-03-01/day/support/7',
    });
    const key = '2027-03-01/day/support/1';
    const raised = await office.http
      .post(`${PLACE}/quantity-disputes`)
      .set(office.headersOf('boris'))
      .send(of(key));
    expect([raised.status, raised.headers['location']]).toEqual([201, `${PLACE}/quantity-disputes/1`]);
    expect(await asked('clara', 'post', '/quantity-disputes', of(key))).toMatchObject({
      status: 409,
      detail: `${key} under B.1 is already in dispute: number 1`,
    });
    const settlement = { settlement: 'counted once' };
    expect((await asked('clara', 'post', '/quantity-disputes/1/settle', settlement)).status).toBe(200);
    expect(await asked('clara', 'post', '/quantity-disputes/1/settle', settlement)).toMatchObject({
      status: 409,
      detail: 'dispute 1 was settled by clara',
    });
    expect((await asked('clara', 'post', '/quantity-disputes/9/settle', settlement)).status).toBe(404);
  });
});

describe('a valuation', () => {
  it('that is not the next one, or has no valid date, is refused', async () => {
    expect(await asked('clara', 'put', '/valuations/2', { cutOff: '2027-03-31' })).toMatchObject({
      type: '/docs/problems#wrong_state',
      detail: 'no valuation of the drive is certified yet: the next one is number 1',
    });
    expect(await asked('clara', 'put', '/valuations/1', { cutOff: '2027-02-30' })).toMatchObject({
      status: 422,
    });
    expect((await asked('vera', 'get', '/valuations/1')).status).toBe(404);
  });

  it('is not certified before it is agreed, by the person who agreed, after the record changed, or by another tag', async () => {
    await drafted(office, 1, '2027-03-31');
    expect(await asked('clara', 'put', '/valuations/2', { cutOff: '2027-04-30' })).toMatchObject({
      type: '/docs/problems#wrong_state',
      detail: 'valuation 1 is draft: it must be certified before valuation 2 is created',
    });
    expect(await asked('clara', 'post', '/valuations/1/certify')).toMatchObject({
      status: 409,
      detail: 'valuation 1 is draft: it must be agreed before it is certified',
    });
    await sent(office, 'clara', 'post', `${PLACE}/valuations/1/agree`);
    expect(await asked('clara', 'post', '/valuations/1/certify')).toMatchObject({
      status: 403,
      detail: 'valuation 1 was agreed by clara: another person must certify it',
    });
    await booked(office, '2027-03-01', bolted('2027-03-01', 1, '1+200', '1+201.7', '9'));
    expect(await sent(office, 'vera', 'get', `${PLACE}/valuations/1`)).toMatchObject({
      changedSinceAgreed: true,
    });
    expect(await asked('dora', 'post', '/valuations/1/certify')).toMatchObject({
      status: 409,
      detail: 'the record has changed since valuation 1 was agreed: it must be agreed again',
    });
    expect(
      await asked('boris', 'post', '/valuations/1/agree', undefined, { 'If-Match': '"stale"' }),
    ).toMatchObject({
      status: 412,
    });
  });

  it('is not certified with open shifts', async () => {
    const { status } = await office.http
      .put(`${PLACE}/shifts/2027-03-05/day`)
      .set(office.headersOf('anna'))
      .send({ state: 'draft', strokes: [], activities: [], support: [], ground: [] });
    expect(status).toBe(201);
    const agreed = await sent(office, 'boris', 'post', `${PLACE}/valuations/1/agree`);
    expect(agreed).toMatchObject({ openShiftCount: 1 });
    expect(await asked('clara', 'post', '/valuations/1/certify')).toMatchObject({
      type: '/docs/problems#incomplete',
      detail:
        '1 shift until 2027-03-31 is neither countersigned nor paid as deemed accepted: that of 2027-03-05',
    });
    const stands = await office.http.get(`${PLACE}/shifts/2027-03-05/day`).set(office.headersOf('anna'));
    await asked('anna', 'delete', '/shifts/2027-03-05/day', undefined, {
      'If-Match': stands.headers['etag'] ?? '',
    });
  });

  it('that was never agreed is not verified', async () => {
    expect((await asked('vera', 'get', '/valuations/1/verification')).status).toBe(409);
  });
});

describe('once certified', () => {
  beforeAll(async () => {
    await certified(office, 1);
  });

  it('the valuation cannot be changed, and the next one comes after it', async () => {
    expect((await asked('clara', 'put', '/valuations/1', { cutOff: '2027-04-30' })).status).toBe(409);
    expect(await asked('clara', 'delete', '/valuations/1')).toMatchObject({
      status: 409,
      detail: 'valuation 1 is certified: it cannot be changed, and corrections go into the next one',
    });
    expect((await asked('boris', 'post', '/valuations/1/agree')).status).toBe(409);
    expect(await asked('clara', 'put', '/valuations/2', { cutOff: '2027-03-31' })).toMatchObject({
      status: 409,
      detail: 'the cut-off 2027-03-31 is not after that of valuation 1, 2027-03-31',
      errors: [{ in: 'body', pointer: '/cutOff', value: '2027-03-31' }],
    });
  });

  it('the valuation cannot be changed when the next one has begun either, for the same reason', async () => {
    await drafted(office, 2, '2027-04-30');
    expect(await asked('clara', 'put', '/valuations/1', { cutOff: '2027-04-30' })).toMatchObject({
      type: '/docs/problems#locked',
      detail: 'valuation 1 is certified: it cannot be changed, and corrections go into the next one',
    });
    expect((await asked('clara', 'delete', '/valuations/2')).status).toBeLessThan(300);
  });

  it('bill and rules cannot be changed, and a new version begins later', async () => {
    expect(await asked('clara', 'delete', '/bills/V1/rules/B.1')).toMatchObject({ status: 409 });
    expect(
      await asked('clara', 'put', '/bills/V1/rules/B.1', { source: 'support', dimension: 'count' }),
    ).toMatchObject({
      status: 409,
      detail: 'bill V1 is used by certified valuations: its measurement rules cannot be changed',
    });
    const items = [
      { reference: 'B.1', description: 'Bolt', unit: 'nr', rate: '45', decimals: 0, quantity: '0' },
    ];
    expect(await asked('clara', 'put', '/bills/V2', { validFrom: '2027-03-31', items })).toMatchObject({
      status: 409,
      detail: 'a version from 2027-03-31 would measure again what valuation 1 certified until 2027-03-31',
      errors: [{ in: 'body', pointer: '/validFrom', value: '2027-03-31' }],
    });
    expect(
      (await asked('clara', 'put', '/bills/V2', { validFrom: '2027-04-01', items })).status,
    ).toBeLessThan(300);
  });

  describe('by SQL, as the service', () => {
    let session: pg.Client;
    let project: number;

    beforeAll(async () => {
      session = await serviceSession(office.url);
      [project] = (await office.sql<{ id: number }>(`select id from project where code = 'P1'`)).map(
        ({ id }) => id,
      ) as [number];
    });

    afterAll(() => session.end());

    /** Rows that enter a line or its sources for the first time, relative to what is certified. */
    const sources = (
      valuation: string,
      sequence: string,
      previous: string,
      quantity: string,
      toDate: string,
    ): string =>
      `insert into certified_source (drive_id, valuation_id, pay_item_id, reference, source, source_key, class_code, sequence, previous_quantity, quantity,
        to_date_quantity)
      select drive_id, ${valuation}, pay_item_id, reference, source, source_key, class_code, ${sequence}, ${previous}, ${quantity}, ${toDate}
      from certified_source where reference = 'B.1'`;

    it.each([
      [
        'a line',
        'update certified_line set quantity = quantity + 1, to_date_quantity = to_date_quantity + 1',
        'valuation_certified_stands',
      ],
      [
        'a line away',
        'delete from certified_line where not exists (select from certified_source s where s.pay_item_id = certified_line.pay_item_id)',
        'valuation_certified_stands',
      ],
      ['a source', `update certified_source set shift_name = 'other'`, 'valuation_certified_stands'],
      ['a source away', 'delete from certified_source', 'valuation_certified_stands'],
      ['the cut-off', `update valuation set cut_off = '2027-04-30'`, 'valuation_certified_stands'],
      ['the valuation away', 'delete from valuation', 'valuation_certified_stands'],
      ['its state', `update valuation set state = 'draft'`, 'valuation_certified_stands'],
      [
        'one more source',
        sources('valuation_id', 'sequence + 1', 'to_date_quantity', '1', 'to_date_quantity + 1'),
        'valuation_certified_stands',
      ],
      ['the rate', 'update pay_item set rate = rate + 1', 'bill_locked'],
      ['a rule', "update measurement_rule set allowance_percent = 5 where source = 'support'", 'bill_locked'],
    ])('nobody changes %s', async (_, sql, constraint) => {
      expect((await refusalOf(session, project, sql)).constraint).toBe(constraint);
    });

    it('nothing is certified that does not continue the last valuation, or differs from its sources', async () => {
      await drafted(office, 2, '2027-04-30');
      const number2 = '(select id from valuation where number = 2)';
      const agree = `select set_config('drivebook.actor', 'boris', true);
        update valuation set state = 'agreed', digest = repeat('0', 64) where number = 2;`;
      const lines = (more: number): string =>
        `insert into certified_line (drive_id, valuation_id, pay_item_id, exact_quantity, base_per_unit, previous_quantity, quantity, to_date_quantity,
          held_quantity, previous_amount, amount, to_date_amount, source_count, digest)
        select drive_id, ${number2}, pay_item_id, exact_quantity, base_per_unit, to_date_quantity, ${more}, to_date_quantity + ${more}, 0, to_date_amount, 0,
          to_date_amount, 0, digest from certified_line;`;
      const certify = (who: string): string =>
        `select set_config('drivebook.actor', '${who}', true); update valuation set state = 'certified', measured_change = 1 where number = 2`;
      const twice = sources(number2, 'sequence + 1', '0', 'to_date_quantity', 'to_date_quantity');
      expect(await refusalOf(session, project, `${agree} ${lines(0)} ${twice}`)).toMatchObject({
        state: 'DB001',
        constraint: 'paid_once',
      });
      // under another version of the bill, while the earlier one still pays it
      const other = `insert into certified_line (drive_id, valuation_id, pay_item_id, exact_quantity, base_per_unit, previous_quantity, quantity, to_date_quantity,
          held_quantity, previous_amount, amount, to_date_amount, source_count, digest)
        select i.drive_id, ${number2}, i.id, 8, 1, 0, 8, 8, 0, 0, 360, 360, 1, repeat('0', 64) from pay_item i join bill b on b.id = i.bill_id where b.version = 'V2';
        insert into certified_source (drive_id, valuation_id, pay_item_id, reference, source, source_key, class_code, sequence, previous_quantity, quantity,
          to_date_quantity)
        select s.drive_id, ${number2}, i.id, s.reference, s.source, s.source_key, s.class_code, 1, 0, s.quantity, s.quantity
        from certified_source s join pay_item i on i.reference = s.reference join bill b on b.id = i.bill_id and b.version = 'V2'`;
      expect(await refusalOf(session, project, `${agree} ${other}`)).toMatchObject({
        state: 'DB001',
        constraint: 'paid_once',
      });
      expect(await refusalOf(session, project, `${agree} ${lines(1)} ${certify('clara')}`)).toMatchObject({
        state: 'DB001',
        constraint: 'valuation_sums',
      });
      const next = `${agree} ${lines(0)}`;
      expect(await refusalOf(session, project, `${next} ${certify('boris')}`)).toMatchObject({
        state: 'DB003',
        constraint: 'second_person',
      });
      expect(await refusalOf(session, project, next)).toMatchObject({
        state: 'DB002',
        constraint: 'valuation_certified_stands',
      });
    });
  });
});
