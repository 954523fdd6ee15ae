import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';

// Large valid input is accepted, and a fault in the middle of it is reported at its place.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const BILL = '/v1/projects/P1/drives/N/bills/A';
const SHEET = '/v1/projects/P1/drives/N/discontinuities';

const item = (index: number): Record<string, unknown> => ({
  reference: `R.${index}`,
  description: `Item ${index}`,
  unit: 'm3',
  kind: 'quantity',
  decimals: 3,
  quantity: '12.500',
  rate: '3.25',
});
const bill = (): { validFrom: string; items: Record<string, unknown>[] } => ({
  validFrom: '2027-01-01',
  items: Array.from({ length: 2000 }, (_, index) => item(index)),
});

describe('a bill of 2,000 items', () => {
  it('is refused for its last item, by its place, and for unknown properties', async () => {
    const input = bill();
    input.items[1999] = { ...item(1999), rate: '3,25' };
    input.items[700] = { ...item(700), colour: 'red' };
    const { status, body } = await app.http.put(BILL).send({ ...input, colour: 'red' });
    expect([status, body.detail]).toEqual([422, '3 faults; see errors']);
    expect(body.errors.map(({ pointer }: { pointer: string }) => pointer)).toEqual([
      '/colour',
      '/items/700/colour',
      '/items/1999/rate',
    ]);
  });

  it('reports the first hundred errors, and that there are more', async () => {
    const input = { ...bill(), items: new Array(2000).fill({}) };
    const { status, body } = await app.http.put(BILL).send(input);
    expect([status, body.errors.length, body.detail]).toEqual([
      422,
      100,
      'more than 1000 faults; see errors, the first 100',
    ]);
  });

  it.each([
    ['something that is not an object', [...bill().items.slice(1), 7], /items must be a list of objects/],
    ['one too many', [...bill().items, item(2000)], /no more than 2000 elements/],
  ])('is refused for %s in the list, at the list', async (_, items, detail) => {
    const { status, body } = await app.http.put(BILL).send({ validFrom: '2027-01-01', items });
    expect([status, body.errors]).toEqual([
      422,
      [expect.objectContaining({ pointer: '/items', detail: expect.stringMatching(detail) })],
    ]);
  });

  it('is accepted', async () => {
    const { status, body } = await app.http.put(BILL).send(bill());
    expect([status, body.bill.items.length, body.bill.amount]).toEqual([201, 2000, '81260.00']); // 2000 × 40.63
  });
});

it('a sheet of 1,000 discontinuities is refused for one of its rows, by its place', async () => {
  const discontinuities = Array.from({ length: 1000 }, (_, index) => ({
    name: `D${index}`,
    chainage: '1+300.000',
    type: 'joint',
    dipDeg: index === 500 ? '91' : '30',
    dipDirectionDeg: '120',
  }));
  const { status, body } = await app.http.post(SHEET).send({ discontinuities });
  expect([status, body.errors]).toEqual([
    422,
    [expect.objectContaining({ pointer: '/discontinuities/500/dipDeg', value: '91' })],
  ]);
});

it('each error of a shift of 4,000 borings keeps its place', async () => {
  const hour = (minutes: number): string => new Date(Date.UTC(2027, 2, 1, 6, minutes)).toISOString();
  const boring = (index: number): object => ({
    from: `1+${(200 + index / 10).toFixed(3)}`,
    to: `1+${(200 + (index + 1) / 10).toFixed(3)}`,
    startedAt: hour(0),
    endedAt: hour(index === 3999 ? 721 : 1),
  });
  const strokes = Array.from({ length: 200 }, (_, stroke) => ({
    number: stroke + 1,
    borings: Array.from({ length: 20 }, (_, index) => boring(stroke * 20 + index)),
  }));
  const document = { state: 'draft', strokes, activities: [], support: [], ground: [] };
  const { status, body } = await app.http
    .put('/v1/projects/P1/drives/N/shifts/2027-03-01/day')
    .send(document);
  expect([status, body.errors[0]]).toEqual([
    422,
    expect.objectContaining({ pointer: '/strokes/199/borings/19/endedAt', value: hour(721) }),
  ]);
  expect(body.detail).toMatch(/^4000 faults/); // one outside the shift, and 3,999 that began before the previous one had ended
});
