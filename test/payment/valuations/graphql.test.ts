import type { Office } from '../../harness/office.js';
import { aBill, aDay, booked, ITEMS, PLACE, sent, startContract } from './contract.js';

// The same results by GraphQL as by REST, from the rule to the verification.

let office: Office;

beforeAll(async () => {
  office = await startContract();
  await aBill(office, 'V1', '2027-01-01', [
    ...ITEMS.slice(0, 3),
    { reference: 'B.1', unit: 'nr', rate: '42.35', decimals: 0 },
    { reference: 'L.1', unit: 'sum', rate: '1000', decimals: 2, quantity: '1' },
  ]);
  const day = aDay('2027-03-01', 1, '1+200', '1+201.7', (shift) =>
    shift.withGround('A', '1+200', '1+201.7').withSupport('BOLT', '1+200', '1+201.7', '8'),
  );
  await booked(office, '2027-03-01', day);
});

afterAll(() => office.close());

const asked = async (
  who: string,
  query: string,
  variables: object = {},
): Promise<Record<string, unknown>> => {
  const { body } = await office.http.post('/graphql').set(office.headersOf(who)).send({ query, variables });
  if (body.errors) throw new Error(JSON.stringify(body.errors));
  return body.data;
};

const N = 'project: "P1", drive: "N"';
const item = (reference: string): string => `${N}, version: "V1", reference: "${reference}"`;

it('a rule is put, read and removed', async () => {
  const put = `mutation { answer: putBillRule(${item('B.1')}, input: { source: support, dimension: count, items: ["BOLT"], kinds: [bolt], zones: ["L1"] })
    { reference source kinds zones sentence } }`;
  const rule = {
    reference: 'B.1',
    source: 'support',
    kinds: ['bolt'],
    zones: ['L1'],
    sentence:
      'The number of pieces of support installed of BOLT of kind bolt in zone L1 in countersigned shifts; in nr, rounded once to 0 decimals.',
  };
  expect(await asked('clara', put)).toEqual({ answer: rule });
  const read = `{ drive(${N}) { measurementRules(version: "V1") { reference source kinds zones sentence } } }`;
  expect(await asked('vera', read)).toMatchObject({
    drive: { measurementRules: expect.arrayContaining([rule]) },
  });
  await asked('clara', `mutation { removeBillRule(${item('B.1')}) }`);
  expect(JSON.stringify(await asked('vera', read))).not.toContain('B.1');
  await asked('clara', put);
});

it('progress is put for a lump sum, and a quantity is disputed and settled', async () => {
  await asked(
    'clara',
    `mutation { putBillRule(${item('L.1')}, input: { source: lump, dimension: percent }) { sentence } }`,
  );
  const lump = `${N}, reference: "L.1", day: "2027-03-31"`;
  await asked('clara', `mutation { putLumpProgress(${lump}, input: { percent: "25" }) { percent } }`);
  expect(await asked('vera', `{ drive(${N}) { lumpProgress { reference day percent } } }`)).toEqual({
    drive: { lumpProgress: [{ reference: 'L.1', day: '2027-03-31', percent: '25' }] },
  });
  const key = '2027-03-01/day/support/1';
  const raised = await asked(
    'boris',
    `mutation { createQuantityDispute(${N}, input: { reference: "B.1", sourceKey: "${key}", reason: "short" }) { number raisedBy } }`,
  );
  expect(raised).toEqual({ createQuantityDispute: { number: 1, raisedBy: 'boris' } });
  await asked(
    'clara',
    `mutation { settleQuantityDispute(${N}, number: 1, input: { settlement: "long enough" }) { number } }`,
  );
  expect(
    await asked('vera', `{ drive(${N}) { quantityDisputes { sourceKey settledBy settlement } } }`),
  ).toEqual({
    drive: { quantityDisputes: [{ sourceKey: key, settledBy: 'clara', settlement: 'long enough' }] },
  });
});

it('a valuation is drafted, agreed, certified and verified, and answers as by REST', async () => {
  await asked(
    'clara',
    `mutation { putValuation(${N}, number: 1, input: { cutOff: "2027-03-31" }) { state } }`,
  );
  await asked('boris', `mutation { agreeValuation(${N}, number: 1) { state } }`);
  await asked('clara', `mutation { certifyValuation(${N}, number: 1) { state } }`);
  const read = `{ drive(${N}) {
    valuations { number amount }
    valuation(number: 1) { state amount agreedBy certifiedBy seal lines { reference toDateQuantity amount digest } }
    valuationSources(number: 1, reference: "B.1", first: 1) { nodes { sourceKey quantity effect } pageInfo { hasNextPage endCursor } }
    valuationByGroundClass(number: 1) { reference groundClass quantity }
    valuationByInterval(number: 1, lengthM: "1") { reference fromChainage quantity }
    valuationVerification(number: 1) { equal lineCount } } }`;
  const { drive } = (await asked('vera', read)) as { drive: Record<string, unknown> };
  const byRest = await sent(office, 'vera', 'get', `${PLACE}/valuations/1`);
  expect(byRest).toMatchObject(drive.valuation as object);
  // 1.7 m · 1850, 1.7 m · 38.484510 m² → 65.4 m³ · 95.50, 8 bolts, a quarter of the sum
  expect(drive).toMatchObject({
    valuations: [{ number: 1, amount: '9979.50' }],
    valuation: { state: 'certified', amount: '9979.50', agreedBy: 'boris', certifiedBy: 'clara' },
    valuationSources: {
      nodes: [{ sourceKey: '2027-03-01/day/support/1', quantity: '8', effect: 'measured' }],
      pageInfo: { hasNextPage: false, endCursor: '1' },
    },
    valuationVerification: { equal: true, lineCount: 5 },
  });
  expect(drive.valuationByGroundClass).toContainEqual({ reference: 'B.1', groundClass: 'A', quantity: '8' });
  // 1.7 m hold 8 bolts, 0.2125 m apart from 0.10625 m on: five, to 0.956 m, in the first metre
  expect(drive.valuationByInterval).toContainEqual({
    reference: 'B.1',
    fromChainage: '1+200.000',
    quantity: '5',
  });
});

it('a valuation can be read as of a moment', async () => {
  const { certifiedAt } = await sent<{ certifiedAt: string }>(office, 'vera', 'get', `${PLACE}/valuations/1`);
  await sent(office, 'clara', 'put', `${PLACE}/valuations/2`, { cutOff: '2027-04-30' });
  const then = encodeURIComponent(new Date(Date.parse(certifiedAt) + 500).toISOString());
  await new Promise((resolve) => setTimeout(resolve, 600));
  await sent(office, 'clara', 'put', `${PLACE}/valuations/2`, { cutOff: '2027-05-31' });
  const now = await sent<{ number: number }[]>(office, 'vera', 'get', `${PLACE}/valuations`);
  expect(now.map(({ number }) => number)).toEqual([1, 2]);
  const past = await office.http.get(`${PLACE}/valuations/1?asOf=${then}`).set(office.headersOf('vera'));
  expect([past.status, past.body.state, past.body.amount]).toEqual([200, 'certified', '9979.50']);
});
