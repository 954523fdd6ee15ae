import fc from 'fast-check';
import pg from 'pg';
import { minorUnitsOf } from '../../../src/common/currency.js';
import { amountOf } from '../../../src/engineering/amount.js';
import { aBill, anItem } from '../../builders/bill.js';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';
import { untilOneWaits } from '../../harness/until.js';
import { upload } from './uploads.js';

let app: TestApp;
let service: pg.Client;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'S' });
  service = await serviceSession(app.url);
});

afterAll(async () => {
  await service.end();
  await app.close();
});

const at = (version: string, drive = 'N'): string => `/v1/projects/P1/drives/${drive}/bills/${version}`;

const put = (version: string, body: object, headers: Record<string, string> = {}, drive = 'N') =>
  app.http.put(at(version, drive)).set(headers).send(body);

afterEach(async () => {
  await app.sql('alter table bill disable trigger bill_stands');
  await app.sql('alter table pay_item disable trigger pay_item_stands');
  await app.sql('delete from bill');
  await app.sql('alter table bill enable trigger bill_stands');
  await app.sql('alter table pay_item enable trigger pay_item_stands');
});

/** Items in two groups and without a group; amounts by hand. */
const ITEMS = [
  anItem('T.1', { groupCode: 'G1', groupTitle: 'Rock', quantity: '10.5', rate: '2.25' }), // 23.625 → 23.63
  anItem('T.2', {
    groupCode: 'G2',
    groupTitle: 'Steel',
    unit: 't',
    decimals: 3,
    quantity: '1.234',
    rate: '1000',
  }), // 1234.00
  anItem('T.3', { groupCode: 'G1', groupTitle: 'Rock', quantity: '0.1', rate: '0.05' }), // 0.005 → 0.01
  anItem('T.4', { kind: 'lump', unit: 'sum', decimals: 0, quantity: '1', rate: '0.333333' }), // 0.33
];

describe('a bill', () => {
  it('is put, reported with its amounts, changed by its entity tag, and removed', async () => {
    const made = await put('A', aBill(ITEMS, { remark: 'tender' }), { 'If-None-Match': '*' });
    expect([made.status, made.body.outcome]).toEqual([201, 'created']);
    const { body: bill, headers } = await app.http.get(at('A'));
    expect(bill).toEqual(made.body.bill);
    expect(headers['etag']).toBe(bill.etag);
    expect(bill).toMatchObject({
      version: 'A',
      validFrom: '2027-01-01',
      validUntil: null,
      currency: 'EUR',
      minorUnits: 2,
      remark: 'tender',
      lockedAt: null,
      itemCount: 4,
      amount: '1257.97', // 23.63 + 1234.00 + 0.01 + 0.33: rounded, then added
    });
    expect(bill.items[0]).toEqual({
      reference: 'T.1',
      groupCode: 'G1',
      groupTitle: 'Rock',
      description: 'Item T.1',
      unit: 'm3',
      kind: 'quantity',
      decimals: 1,
      quantity: '10.5',
      rate: '2.25',
      amount: '23.63',
    });
    expect(bill.items.map(({ amount, rate }: { amount: string; rate: string }) => [amount, rate])).toEqual([
      ['23.63', '2.25'],
      ['1234.00', '1000.00'],
      ['0.01', '0.05'],
      ['0.33', '0.333333'],
    ]);
    expect(bill.groups).toEqual([
      { groupCode: 'G1', groupTitle: 'Rock', itemCount: 2, amount: '23.64' },
      { groupCode: 'G2', groupTitle: 'Steel', itemCount: 1, amount: '1234.00' },
      { groupCode: null, groupTitle: null, itemCount: 1, amount: '0.33' },
    ]);

    const before = await app.contents();
    const items = ITEMS.map((item) => ({ ...item, rate: Number(item.rate) }));
    const spelt = { ...aBill(ITEMS, { remark: ' tender\r\n' }), items };
    const again = await put('A', spelt, { 'If-Match': '"stale"' });
    expect([again.status, again.body.outcome]).toEqual([200, 'unchanged']);
    expect(await app.contents()).toBe(before);

    const changed = aBill([ITEMS[3]!, { ...ITEMS[0]!, rate: '3' }]);
    expect((await put('A', changed)).status).toBe(428);
    expect((await put('A', changed, { 'If-Match': '"x"' })).status).toBe(412);
    expect((await put('A', changed, { 'If-None-Match': '*' })).status).toBe(412);
    expect((await put('B', changed, { 'If-Match': bill.etag })).status).toBe(412);
    const [kept] = await app.sql<{ id: number }>(`select id from pay_item where reference = 'T.1'`);
    const replaced = await put('A', changed, { 'If-Match': bill.etag });
    expect([replaced.status, replaced.body.outcome]).toEqual([200, 'replaced']);
    expect(replaced.body.bill).toMatchObject({ remark: null, itemCount: 2, amount: '31.83' }); // 0.33 + 10.5·3
    expect(replaced.body.bill.items.map(({ reference }: { reference: string }) => reference)).toEqual([
      'T.4',
      'T.1',
    ]);
    expect(await app.sql(`select id from pay_item where reference = 'T.1'`)).toEqual([kept]);

    expect((await app.http.delete(at('A'))).status).toBe(428);
    expect((await app.http.delete(at('A')).set('If-Match', bill.etag)).status).toBe(412);
    expect((await app.http.delete(at('A')).set('If-Match', replaced.body.bill.etag)).status).toBe(204);
    expect((await app.http.get(at('A'))).body.detail).toBe('There is no bill A in drive N.');
    expect(await app.sql('select count(*)::int as n from pay_item')).toEqual([{ n: 0 }]);
  });

  it('is the same by GraphQL', async () => {
    const graphql = async (
      query: string,
      variables?: object,
    ): Promise<{ data: never; errors?: { message: string }[] }> =>
      (await app.http.post('/graphql').send({ query, variables })).body as never;
    const mutation = `mutation ($input: BillInput!) { putBill(project: "P1", drive: "N", version: "A", input: $input) { outcome bill { etag amount } } }`;
    const made = await graphql(mutation, { input: aBill(ITEMS) });
    expect(made).toMatchObject({ data: { putBill: { outcome: 'created', bill: { amount: '1257.97' } } } });
    const asked = await graphql(`
      {
        drive(project: "P1", drive: "N") {
          bills {
            version
            validFrom
            itemCount
            amount
          }
          bill(version: "A") {
            etag
            currency
            items {
              reference
              kind
              quantity
              amount
            }
            groups {
              groupCode
              amount
            }
          }
        }
      }
    `);
    const { body } = await app.http.get(at('A'));
    expect(asked.errors).toBeUndefined();
    expect(asked).toMatchObject({
      data: {
        drive: {
          bills: [{ version: 'A', validFrom: '2027-01-01', itemCount: 4, amount: '1257.97' }],
          bill: { etag: body.etag, currency: 'EUR' },
        },
      },
    });
    const [, second] = (asked.data as { drive: { bill: { items: unknown[] } } }).drive.bill.items;
    expect(second).toEqual({ reference: 'T.2', kind: 'quantity', quantity: '1.234', amount: '1234.00' });
    const refused = await graphql(mutation, { input: aBill([anItem('T.1', { rate: '-1' })]) });
    expect(refused.errors?.[0]?.message).toMatch(/rate is -1: a rate must not be negative/);
    const remove = (ifMatch: string): string =>
      `mutation { removeBill(project: "P1", drive: "N", version: "A", ifMatch: ${JSON.stringify(ifMatch)}) }`;
    expect((await graphql(remove('"x"'))).errors?.[0]?.message).toMatch(/has changed since/);
    expect(await graphql(remove(body.etag as string))).toEqual({ data: { removeBill: true } });
  });

  it('can be read as of a moment', async () => {
    await put('A', aBill([anItem('T.1', { rate: '1' })]));
    const [{ now } = { now: '' }] = await app.sql<{ now: string }>(
      `select to_char(max(made_at) at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') as now from history.change`,
    );
    await put('A', aBill([anItem('T.1', { rate: '7' })]), { 'If-Match': '*' });
    const { body } = await app.http.get(`${at('A')}?asOf=${now}`);
    expect(body).toMatchObject({ amount: '10.00', items: [{ rate: '1.00' }] });
    expect((await app.http.get(`${at('A')}/export.csv?asOf=${now}`)).text).toContain(',10.0,1.00,10.00');
  });
});

describe('its versions', () => {
  it('follow each other by their first days, and no two begin on the same day', async () => {
    await put('B', aBill([anItem('T.1')], { validFrom: '2027-07-01' }));
    await put('A', aBill([anItem('T.1')], { validFrom: '2027-01-01' }));
    await put('A', aBill([anItem('T.9')], { validFrom: '2027-07-01' }), {}, 'S'); // of another drive
    const clash = await put('C', aBill([anItem('T.1')], { validFrom: '2027-07-01' }));
    expect([clash.status, clash.body.errors]).toEqual([
      409,
      [
        {
          in: 'body',
          pointer: '/validFrom',
          value: '2027-07-01',
          detail: 'bill B counts from 2027-07-01 already: two versions cannot begin on the same day',
        },
      ],
    ]);
    await put('C', aBill([anItem('T.1')], { validFrom: '2027-07-02' }));
    const { body } = await app.http.get('/v1/projects/P1/drives/N/bills');
    expect(
      body.map(({ version, validFrom, validUntil }: Record<string, string>) => [
        version,
        validFrom,
        validUntil,
      ]),
    ).toEqual([
      ['A', '2027-01-01', '2027-06-30'],
      ['B', '2027-07-01', '2027-07-01'],
      ['C', '2027-07-02', null],
    ]);
    const onDay = `select version from report.bill_item where drive_code = 'N' and $1 between valid_from and coalesce(valid_until, $1)`;
    const counted: unknown[] = [];
    for (const day of ['2026-12-31', '2027-06-30', '2027-07-01', '2030-01-01'])
      counted.push((await app.sql(onDay, [day])).map(({ version }) => version as unknown));
    expect(counted).toEqual([[], ['A'], ['B'], ['C']]);
    expect(
      await refusalOf(
        service,
        1,
        `insert into public.bill (drive_id, version, valid_from, currency, minor_units) select id, 'D', '2027-07-01', 'EUR', 2 from drive where code = 'N'`,
      ),
    ).toMatchObject({ state: '23505', constraint: 'bill_drive_id_valid_from_key' });
  });
});

describe('amounts', () => {
  // ISO 4217: the yen has no minor unit, the Kuwaiti dinar three. 10.5 × 2.25 = 23.625; 0.1 × 0.05 = 0.005.
  it.each([
    ['JPY', 0, ['24', '1234', '0', '0'], '1258', '2.25'],
    ['KWD', 3, ['23.625', '1234.000', '0.005', '0.333'], '1257.963', '2.250'],
    ['CHF', 2, ['23.63', '1234.00', '0.01', '0.33'], '1257.97', '2.25'],
  ])('in %s have %s decimals', async (currency, minorUnits, amounts, amount, rate) => {
    const { body } = await put('A', aBill(ITEMS, { currency }));
    expect(body.bill).toMatchObject({ currency, minorUnits, amount, items: [{ rate }, {}, {}, {}] });
    expect(body.bill.items.map((item: { amount: string }) => item.amount)).toEqual(amounts);
  });

  it('are PostgreSQL’s, to the last digit', async () => {
    const digits = (max: number) => fc.bigInt({ min: 0n, max: 10n ** BigInt(max) - 1n });
    const decimal = fc
      .tuple(digits(12), digits(6), fc.integer({ min: 0, max: 6 }))
      .map(([whole, fraction, decimals]) =>
        decimals === 0 ? String(whole) : `${whole}.${String(fraction).padStart(6, '0').slice(0, decimals)}`,
      );
    const ties = fc
      .tuple(fc.integer({ min: 0, max: 9999 }), fc.integer({ min: 0, max: 999 }))
      .map(([q, r]) => ({
        quantity: `${q}.5`,
        rate: `${r}.25`,
      }));
    const cases = fc.sample(
      fc.tuple(
        fc.oneof(fc.record({ quantity: decimal, rate: decimal }), ties),
        fc.integer({ min: 0, max: 4 }),
      ),
      { numRuns: 400 },
    );
    const rows = await app.sql<{ amount: string }>(
      `select round(q::numeric * r::numeric, m)::text as amount from unnest($1::text[], $2::text[], $3::int[]) with ordinality t(q, r, m, n) order by n`,
      [cases.map(([{ quantity }]) => quantity), cases.map(([{ rate }]) => rate), cases.map(([, m]) => m)],
    );
    expect(cases.map(([{ quantity, rate }, m]) => amountOf(quantity, rate, m))).toEqual(
      rows.map(({ amount }) => amount),
    );
  });

  it('have the decimals of ISO 4217, as in Intl except for currencies without small cash', () => {
    // read in a second source: java.util.Currency of OpenJDK 17, getDefaultFractionDigits
    expect(['EUR', 'JPY', 'KWD', 'CLF', 'HUF', 'IQD', 'ISK', 'XAU', 'XYZ', 'eur'].map(minorUnitsOf)).toEqual([
      2,
      0,
      3,
      4,
      2,
      3,
      0,
      undefined,
      undefined,
      undefined,
    ]);
    const others = Intl.supportedValuesOf('currency').filter((currency) => {
      const { maximumFractionDigits } = new Intl.NumberFormat('en', {
        style: 'currency',
        currency,
      }).resolvedOptions();
      return minorUnitsOf(currency) !== maximumFractionDigits;
    });
    for (const currency of others)
      expect([
        currency,
        'AFN ALL COP HUF IDR IQD IRR KPW LAK LBP MGA MMK PKR SLL SOS SYP YER'.split(' ').includes(currency),
      ]).toEqual([currency, true]);
  });
});

describe('a locked bill', () => {
  const LOCKED = 'bill A is locked, as certified valuations use it: create another version';
  beforeEach(async () => {
    await put('A', aBill([anItem('T.1'), anItem('T.2')]));
    await put('B', aBill([anItem('T.1')], { validFrom: '2027-02-01' }));
    await app.sql(`update bill set locked_at = '2027-03-01T00:00:00Z' where version = 'A'`);
  });

  it('can no longer be changed or removed by the API', async () => {
    const before = await app.contents();
    const { body: bill } = await app.http.get(at('A'));
    expect(bill.lockedAt).toBe('2027-03-01T00:00:00+00:00');
    const answers = [
      await put('A', aBill([anItem('T.1', { rate: '9' })]), { 'If-Match': bill.etag }),
      await app.http.delete(at('A')).set('If-Match', bill.etag),
    ];
    expect(answers.map(({ status, body }) => [status, body.detail])).toEqual(
      answers.map(() => [409, LOCKED]),
    );
    const table = await upload(app, 'reference,rate\nT.1,9\n', { etag: bill.etag });
    expect([table.status, table.body.errors]).toMatchObject([409, [{ detail: `line 2: ${LOCKED}` }]]);
    expect((await put('A', aBill([anItem('T.1'), anItem('T.2')]))).body.outcome).toBe('unchanged');
    expect(await app.contents()).toBe(before);
  });

  const A = `(select id from bill where version = 'A')`;
  const B = `(select id from bill where version = 'B')`;
  const ITEM =
    'item T.1 belongs to bill A, which is locked, as certified valuations use it: create another version';
  it.each([
    [`update public.bill set remark = 'x' where version = 'A'`, LOCKED],
    [`update public.bill set locked_at = null where version = 'A'`, LOCKED],
    [`update public.bill set locked_at = now() where version = 'A'`, LOCKED],
    [`delete from public.bill where version = 'A'`, LOCKED],
    [`update public.pay_item set rate = 9 where bill_id = ${A} and reference = 'T.1'`, ITEM],
    [`delete from public.pay_item where bill_id = ${A} and reference = 'T.1'`, ITEM],
    [`update public.pay_item set bill_id = ${B} where bill_id = ${A} and reference = 'T.1'`, ''],
    [`delete from public.pay_item where bill_id = ${A} and reference = 'T.2'; `, ITEM.replace('T.1', 'T.2')],
    [
      `update public.pay_item set reference = 'T.9', bill_id = ${A} where bill_id = ${B}`,
      ITEM.replace('T.1', 'T.9'),
    ],
    [
      `insert into public.pay_item (drive_id, bill_id, reference, position, description, unit, decimals, quantity, rate)
       select drive_id, id, 'T.3', 3, 'x', 'm', 0, 1, 1 from bill where version = 'A'`,
      ITEM.replace('T.1', 'T.3'),
    ],
  ])('can no longer be changed by SQL of the service: %s', async (sql, message) => {
    const refusal = await refusalOf(service, 1, sql);
    if (message === '')
      expect(refusal.state).toBe('23505'); // B has a T.1 already
    else expect(refusal).toEqual({ state: 'DB002', constraint: 'bill_locked', message });
  });

  it.each([
    [`update public.bill set locked_at = now() where version = 'B'`],
    [`update public.pay_item set rate = 9 where bill_id = ${B}`],
    [`delete from public.bill where version = 'B'`],
    [`update public.bill set version = version`],
  ])('leaves the other versions alone: %s', async (sql) => {
    expect(await refusalOf(service, 1, sql)).toEqual({ state: 'taken' });
  });

  it('is not confused by a temporary table', async () => {
    const shadow =
      'create temp table bill (like public.bill); create temp table pay_item (like public.pay_item);';
    const change = `update public.pay_item set rate = 9 where bill_id = (select id from public.bill where version = 'A') and reference = 'T.1'`;
    expect(await refusalOf(service, 1, `${shadow} ${change}`)).toMatchObject({
      state: 'DB002',
      message: ITEM,
    });
  });

  it('keeps the unit of its items in later versions', async () => {
    const other = await put('C', aBill([anItem('T.1', { unit: 'm2' })], { validFrom: '2027-05-01' }));
    expect([other.status, other.body.detail]).toEqual([
      409,
      'item T.1 is measured in m3 by a locked version of the bill, not in m2: a later version keeps its unit, or names another item',
    ]);
    expect(
      (await put('C', aBill([anItem('T.1b', { unit: 'm2' })], { validFrom: '2027-05-01' }))).status,
    ).toBe(201);
  });

  it('is locked against an item that is inserted at the same time', async () => {
    const late = new pg.Client({ connectionString: app.url });
    const lock = new pg.Client({ connectionString: app.url });
    await Promise.all([late.connect(), lock.connect()]);
    try {
      await lock.query('begin');
      await lock.query(`select from bill where version = 'B' for no key update`);
      const change = late
        .query(`update pay_item set rate = 9 where bill_id = ${B}`)
        .catch((error: Error) => error.message);
      await untilOneWaits(app);
      await lock.query(`update bill set locked_at = now() where version = 'B'`);
      await lock.query('commit');
      expect(await change).toMatch(/belongs to bill B, which is locked/);
    } finally {
      await Promise.all([late.end(), lock.end()]);
    }
  });
});
