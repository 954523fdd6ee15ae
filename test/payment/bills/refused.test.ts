import type pg from 'pg';
import { aBill, anItem } from '../../builders/bill.js';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { refusalOf, serviceSession } from '../../harness/service-role.js';

let app: TestApp;
let service: pg.Client;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  service = await serviceSession(app.url);
});

afterAll(async () => {
  await service.end();
  await app.close();
});

const put = (version: string, body: object) =>
  app.http.put(`/v1/projects/P1/drives/N/bills/${version}`).send(body);

describe('a bill that breaks a rule', () => {
  const item = (said: object): object => aBill([{ ...anItem('T.1'), ...said } as never]);
  it.each<[string, object, string, string | RegExp]>([
    [
      'a negative rate',
      item({ rate: '-2.5' }),
      '/items/0/rate',
      /^rate is -2.5: a rate must not be negative/,
    ],
    ['a negative quantity', item({ quantity: '-1' }), '/items/0/quantity', /must not be negative/],
    [
      'a quantity finer than it is rounded',
      item({ quantity: '1.25' }),
      '/items/0/quantity',
      'quantity 1.25 has more decimals than the 1 to which the item is rounded',
    ],
    ['seven decimals', item({ rate: '0.1234567' }), '/items/0/rate', /at most 6 decimals/],
    ['an invalid rate', item({ rate: 'NaN' }), '/items/0/rate', /must be a number/],
    ['a reference with a blank', item({ reference: 'T 1' }), '/items/0/reference', /letters, digits/],
    ['a blank description', item({ description: ' \n' }), '/items/0/description', 'description is blank'],
    ['seven decimals to round to', item({ decimals: 7 }), '/items/0/decimals', /whole number from 0 to 6/],
    ['another kind', item({ kind: 'guess' }), '/items/0/kind', /must be one of/],
    ['a title without a group', item({ groupTitle: 'Rock' }), '/items/0/groupTitle', /without a groupCode/],
    [
      'a reference twice',
      aBill([anItem('T.1'), anItem('T.2'), anItem('T.1')]),
      '/items/2/reference',
      'item T.1 is listed twice, as item 1 and as item 3',
    ],
    [
      'a group with two titles',
      aBill([anItem('T.1', { groupCode: 'G', groupTitle: 'a' }), anItem('T.2', { groupCode: 'G' })]),
      '/items/1/groupTitle',
      'group G has no title here and the title "a" as item 1: a group has one title',
    ],
    ['no items', aBill([]), '/items', 'a bill must have at least one item'],
    [
      'an invalid currency',
      aBill([anItem('T.1')], { currency: 'XYZ' }),
      '/currency',
      'XYZ is not a currency of ISO 4217',
    ],
    ['gold', aBill([anItem('T.1')], { currency: 'XAU' }), '/currency', /not a currency/],
    [
      'what the service decides',
      aBill([anItem('T.1')], { lockedAt: '2027-01-01T00:00:00Z' }),
      '/lockedAt',
      /^lockedAt cannot be changed \(current value null\): omit it or send it unchanged$/,
    ],
  ])('is refused: %s', async (_, body, pointer, detail) => {
    const before = await app.contents();
    const answer = await put('A', body);
    expect([answer.status, answer.body.errors]).toEqual([
      422,
      [
        expect.objectContaining({
          pointer,
          detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
        }),
      ],
    ]);
    expect(await app.contents()).toBe(before);
  });

  it.each([
    ['rate = -0.01', '23514', 'pay_item_rate'],
    [`rate = 'NaN'`, '23514', 'pay_item_rate'],
    [`quantity = 'NaN'`, '23514', 'pay_item_quantity'],
    ['quantity = 0.25', '23514', 'pay_item_quantity'],
    ['decimals = 7', '23514', 'pay_item_decimals'],
    [`unit = ' '`, '23514', 'pay_item_words'],
    [`group_title = 'x'`, '23514', 'pay_item_group'],
    [`reference = 'T 1'`, '23514', 'pay_item_reference'],
    [`reference = 'T.2'`, '23505', 'pay_item_bill_id_reference_key'],
    ['position = 0', '23514', 'pay_item_position'],
  ])('is refused by the database: %s', async (change, state, constraint) => {
    await put('A', aBill([anItem('T.1'), anItem('T.2')]));
    expect(
      await refusalOf(service, 1, `update public.pay_item set ${change} where reference = 'T.1'`),
    ).toMatchObject({ state, constraint });
  });
});
