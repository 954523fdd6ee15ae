import fc from 'fast-check';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { runs } from '../../harness/sizes.js';

// Pieces of a counted line: each is at one place and lies in one part. Positions by hand; the count against a model that lays the pieces out
// individually, in units of half a millimetre over n, so that nothing is rounded.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

type Row = Record<string, string | null>;

const graphql = async (query: string): Promise<Record<string, unknown>> => {
  const { body } = await app.http.post('/graphql').send({ query });
  expect(body.errors).toBeUndefined();
  return body.data as Record<string, unknown>;
};

const chosen = (rows: Row[], ...names: string[]): (string | null | undefined)[][] =>
  rows.map((row) => names.map((name) => row[name]));

describe('five bolts over 1+200 to 1+202, the classes meeting at 1+201', () => {
  const url = '/v1/projects/P1/drives/N';

  beforeAll(async () => {
    const shift = aShift()
      .withGround('A', '1+200', '1+201')
      .withGround('B', '1+201', '1+204')
      .withSupport('BOLT', '1+200', '1+202', '5')
      // ribs by their chainages: 1+202.9 and 1+203 on either side of the metre mark, 1+203 in the part that begins there
      .withSupport('RIB', '1+202', '1+204', '2', { positions: ['1+202.900', '1+203'] });
    const posted = await app.http.put(`${url}/shifts/2027-03-01/day`).send(shift.build());
    expect([posted.status, posted.text]).toEqual([201, expect.anything()]);
  });

  // At 200.2, 200.6, 201.0, 201.4, 201.8: two before 201, three from there (REFERENCE: 5 over 200–202 cut at 201 → 2 + 3).
  it('are at 0.2, 0.6, 1.0, 1.4 and 1.8 m', async () => {
    const pieces = await app.sql<{ number: number; at_m: string }>(
      `select number, at_m from drive d cross join report.support_piece_of(d.id) where d.code = 'N' order by at_m, number`,
    );
    expect(pieces.map(({ number, at_m }) => [number, Number(at_m)])).toEqual([
      [1, 0.2],
      [2, 0.6],
      [3, 1],
      [4, 1.4],
      [5, 1.8],
      [1, 2.9],
      [2, 3],
    ]);
  });

  it('are two in A and three in B, by REST, GraphQL and SQL', async () => {
    const expected = [
      ['A', 'BOLT', '2.000'],
      ['B', 'BOLT', '3.000'],
      ['B', 'RIB', '2.000'],
    ];
    const { body } = await app.http.get(`${url}/support-quantities/ground-classes`);
    expect(chosen(body as Row[], 'groundClass', 'item', 'quantity')).toEqual(expected);
    const { drive } = await graphql(`
      {
        drive(project: "P1", drive: "N") {
          rows: supportQuantitiesByGroundClass {
            groundClass
            item
            quantity
          }
        }
      }
    `);
    expect(chosen((drive as { rows: Row[] }).rows, 'groundClass', 'item', 'quantity')).toEqual(expected);
    const reported = await app.sql<Row>(
      `select ground_class_code, item_code, quantity from report.support_by_ground_class where drive_code = 'N' order by 1, 2`,
    );
    expect(chosen(reported, 'ground_class_code', 'item_code', 'quantity')).toEqual(expected);
  });

  it('are cut at each metre into whole pieces', async () => {
    const { body } = await app.http.get(`${url}/support-quantities/intervals?lengthM=1`);
    expect(chosen(body as Row[], 'from', 'item', 'quantity')).toEqual([
      ['1+200.000', 'BOLT', '2.000'],
      ['1+201.000', 'BOLT', '3.000'],
      ['1+202.000', 'RIB', '1.000'],
      ['1+203.000', 'RIB', '1.000'],
    ]);
  });

  it('have their length and mass with them, and their area along the interval', async () => {
    // bolts of 3 m: 2 · 3 = 6 and 3 · 3 = 9 m
    const { body } = await app.http.get(`${url}/support-measures/ground-classes`);
    expect(chosen(body.items as Row[], 'groundClass', 'item', 'quantity', 'totalLengthM')).toEqual([
      ['A', 'BOLT', '2.000', '6.000'],
      ['B', 'BOLT', '3.000', '9.000'],
      ['B', 'RIB', '2.000', null],
    ]);
  });

  it('are in the as-built record at their place: a line of pieces without one inside is left out', async () => {
    const within = async (from: string, to: string): Promise<unknown> => {
      const { body } = await app.http.get(
        `${url}/as-built?from=${encodeURIComponent(from)}&to=${encodeURIComponent(to)}`,
      );
      return chosen(body.support as Row[], 'item', 'quantityWithin');
    };
    expect(await within('1+200', '1+200.6')).toEqual([['BOLT', '1.000']]);
    expect(await within('1+200.600', '1+203')).toEqual([
      ['BOLT', '4.000'],
      ['RIB', '1.000'],
    ]);
    expect(await within('1+200.700', '1+200.900')).toEqual([]);
  });
});

describe('the pieces before a place', () => {
  const before = async (
    n: number,
    from: string,
    to: string,
    positions: string[] | null,
    at: string,
  ): Promise<number> => {
    const [row] = await app.sql<{ n: string }>('select report.pieces_before($1, $2, $3, $4, $5) as n', [
      n,
      from,
      to,
      positions,
      at,
    ]);
    return Number(row?.n);
  };

  it('are counted to the millimetre: a piece at the place itself is not before it', async () => {
    // 3 over 0–3: 0.5, 1.5, 2.5
    expect(await before(3, '0', '3', null, '0.500')).toBe(0);
    expect(await before(3, '0', '3', null, '0.501')).toBe(1);
    expect(await before(3, '0', '3', null, '2.500')).toBe(2);
    expect(await before(3, '0', '3', null, '3')).toBe(3);
    // one piece in one millimetre is at its middle: after its start, before its end
    expect(await before(1, '7', '7.001', null, '7')).toBe(0);
    expect(await before(1, '7', '7.001', null, '7.001')).toBe(1);
    // at one place: before every later place
    expect(await before(7, '4', '4', null, '4')).toBe(0);
    expect(await before(7, '4', '4', null, '4.001')).toBe(7);
    // one by one, two of them in one row
    expect(await before(3, '0', '3', ['0.000', '1.200', '1.200'], '0')).toBe(0);
    expect(await before(3, '0', '3', ['0.000', '1.200', '1.200'], '1.200')).toBe(1);
    expect(await before(3, '0', '3', ['0.000', '1.200', '1.200'], '1.201')).toBe(3);
  });

  it('are as many as in the model, even for 999,999,999 over 999 km', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 60 }),
        fc.integer({ min: 0, max: 5000 }),
        fc.integer({ min: 1, max: 5000 }),
        fc.integer({ min: -100, max: 5100 }),
        async (n, fromMm, lengthMm, offset) => {
          const at = fromMm + offset;
          let counted = 0;
          for (let i = 1; i <= n; i += 1) if ((2 * i - 1) * lengthMm < 2 * n * (at - fromMm)) counted += 1;
          const metres = (mm: number): string => (mm / 1000).toFixed(3);
          expect(await before(n, metres(fromMm), metres(fromMm + lengthMm), null, metres(at))).toBe(counted);
        },
      ),
      runs(60, 1000),
    );
    // one in each millimetre, at its middle
    expect(await before(999_999_999, '0', '999999.999', null, '499999.999')).toBe(499_999_999);
  });
});
