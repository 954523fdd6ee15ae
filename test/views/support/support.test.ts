import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { describeOnce, itOnce, runs } from '../../harness/sizes.js';

// Quantities by any breakdown: worked by hand, and by property: the parts sum to the whole exactly.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const post = async (drive: string, shift: ShiftBuilder): Promise<void> => {
  const { status, text } = await app.http
    .put(`/v1/projects/P1/drives/${drive}/shifts/${shift.date}/${shift.shift}`)
    .send(shift.build());
  if (status !== 201) throw new Error(text);
};

type Row = Record<string, string>;

const read = async (drive: string, path = ''): Promise<Row[]> =>
  (await app.http.get(`/v1/projects/P1/drives/${drive}/support-quantities${path}`)).body as Row[];

const cells = (rows: Row[], ...names: string[]): (string | undefined)[][] =>
  rows.map((row) => names.map((name) => row[name]));

describeOnce('support of two shifts', () => {
  beforeAll(async () => {
    // Class A to 1+206, class B from there to 1+210; nothing noted beyond.
    await post(
      'N',
      aShift('2027-03-01', 'night')
        .withGround('A', '1+200', '1+206')
        .withSupport('BOLT', '1+204', '1+211', '7')
        .withSupport('RIB', '1+206', undefined, '1')
        .withSupport('MESH', '1+200', '1+203', '10')
        .withSupport('SPRAY', '1+200', '1+201', '1.5', { zone: 'L2', installedAt: '2027-03-02T05:59:59Z' }),
    );
    await post(
      'N',
      aShift('2027-03-02')
        .withGround('B', '1+206', '1+210')
        .withSupport('BOLT', '1+200', undefined, '2')
        .withSupport('SPRAY', '1+205', '1+208', '1', { installedAt: '2027-03-02T06:00:00Z' }),
    );
  });

  itOnce('adds up by item and zone', async () => {
    expect(cells(await read('N'), 'item', 'zone', 'unit', 'quantity')).toEqual([
      ['BOLT', 'L1', 'nr', '9.000'],
      ['MESH', 'L1', 'm2', '10.000'],
      ['RIB', 'L1', 'nr', '1.000'],
      ['SPRAY', 'L1', 'm3', '1.000'],
      ['SPRAY', 'L2', 'm3', '1.500'],
    ]);
  });

  itOnce(
    'is divided at the ground classes: a bolt per metre, the rib at the change to the class ahead',
    async () => {
      // 7 bolts over 7 m: 2 in A (204–206), 4 in B (206–210), 1 where no class is noted (210–211); 2 more at 1+200 in A.
      // 1 m³ from 205 to 208: a third in A, two thirds in B, rounded along the interval: 0.333 and 0.667.
      expect(cells(await read('N', '/ground-classes'), 'groundClass', 'item', 'zone', 'quantity')).toEqual([
        ['A', 'BOLT', 'L1', '4.000'],
        ['A', 'MESH', 'L1', '10.000'],
        ['A', 'SPRAY', 'L1', '0.333'],
        ['A', 'SPRAY', 'L2', '1.500'],
        ['B', 'BOLT', 'L1', '4.000'],
        ['B', 'RIB', 'L1', '1.000'],
        ['B', 'SPRAY', 'L1', '0.667'],
        [null, 'BOLT', 'L1', '1.000'],
      ]);
    },
  );

  itOnce(
    'belongs to the class that begins at its place; past the last note, at the end of the drive too, to none',
    async () => {
      await aDrive(app, { drive: 'EDGE', startChainage: '1+200', endChainage: '1+210' });
      const shift = aShift('2027-03-01', 'night')
        .withGround('A', '1+200', '1+204')
        .withGround('B', '1+206', '1+210');
      for (const place of ['1+200', '1+203.999', '1+204', '1+205.999', '1+206', '1+210'])
        shift.withSupport('RIB', place, undefined, '1');
      // 0.3 m³ over 3 mm: one in A, two in no class; 4 m³ over 4 m: one in A, two in none, one in B
      shift.withSupport('SPRAY', '1+203.999', '1+204.002', '0.3').withSupport('SPRAY', '1+203', '1+207', '4');
      await post('EDGE', shift);
      expect(
        cells(await read('EDGE', '/ground-classes'), 'groundClass', 'item', 'quantity', 'rowCount'),
      ).toEqual([
        ['A', 'RIB', '2.000', 2],
        ['A', 'SPRAY', '1.100', 2],
        ['B', 'RIB', '1.000', 1],
        ['B', 'SPRAY', '1.000', 1],
        [null, 'RIB', '3.000', 3],
        [null, 'SPRAY', '2.200', 2],
      ]);
    },
  );

  itOnce('is divided at round chainages', async () => {
    expect(cells(await read('N', '/intervals?lengthM=5'), 'from', 'to', 'item', 'quantity')).toEqual([
      ['1+200.000', '1+205.000', 'BOLT', '3.000'],
      ['1+200.000', '1+205.000', 'MESH', '10.000'],
      ['1+200.000', '1+205.000', 'SPRAY', '1.500'],
      ['1+205.000', '1+210.000', 'BOLT', '5.000'],
      ['1+205.000', '1+210.000', 'RIB', '1.000'],
      ['1+205.000', '1+210.000', 'SPRAY', '1.000'],
      ['1+210.000', '1+215.000', 'BOLT', '1.000'],
    ]);
  });

  itOnce('counts on the production day of its time, else of its shift', async () => {
    // The production day starts at 06:00: the spraying of 05:59:59 still belongs to 1 March.
    expect(cells(await read('N', '/days'), 'productionDay', 'item', 'quantity')).toEqual([
      ['2027-03-01', 'BOLT', '7.000'],
      ['2027-03-01', 'MESH', '10.000'],
      ['2027-03-01', 'RIB', '1.000'],
      ['2027-03-01', 'SPRAY', '1.500'],
      ['2027-03-02', 'BOLT', '2.000'],
      ['2027-03-02', 'SPRAY', '1.000'],
    ]);
    const named = ['productionDay', 'item'];
    expect(cells(await read('N', '/days?from=2027-03-02'), ...named)).toEqual([
      ['2027-03-02', 'BOLT'],
      ['2027-03-02', 'SPRAY'],
    ]);
    expect(cells(await read('N', '/days?to=2027-03-01'), ...named)).toHaveLength(4);
    expect(await read('N', '/days?from=2027-03-03')).toEqual([]);
  });

  itOnce.each([
    ['from=1%2B210', ['1+210.000 BOLT']],
    ['from=1%2B207&to=1%2B207.001', ['1+205.000 BOLT', '1+205.000 RIB', '1+205.000 SPRAY']],
    ['to=1%2B205', ['1+200.000 BOLT', '1+200.000 MESH', '1+200.000 SPRAY']],
    ['from=1%2B215', []],
  ])('is shown of the intervals that reach into a part, each whole: %s', async (part, expected) => {
    const rows = await read('N', `/intervals?lengthM=5&${part}`);
    expect(cells(rows, 'from', 'item').map((row) => row.join(' '))).toEqual(expected);
    const url = `/v1/projects/P1/drives/N/support-measures/intervals?lengthM=5&${part}`;
    const { items, next } = (await app.http.get(url)).body as { items: Row[]; next: number | null };
    expect([cells(items, 'from', 'item').map((row) => row.join(' ')), next]).toEqual([expected, null]);
    const whole = await read('N', '/intervals?lengthM=5');
    expect(whole).toEqual(expect.arrayContaining(rows));
  });

  itOnce('is measured by page and by interval', async () => {
    const url = '/v1/projects/P1/drives/N/support-measures';
    const page = (await app.http.get(`${url}/intervals?lengthM=5&first=1&from=1%2B206`)).body as {
      items: Row[];
      next: number;
    };
    expect([cells(page.items, 'from', 'item'), page.next]).toEqual([
      [
        ['1+205.000', 'BOLT'],
        ['1+205.000', 'RIB'],
        ['1+205.000', 'SPRAY'],
      ],
      1,
    ]);
    const days = (await app.http.get(`${url}/days?from=2027-03-02`)).body as { items: Row[] };
    expect(cells(days.items, 'productionDay', 'item')).toEqual([
      ['2027-03-02', 'BOLT'],
      ['2027-03-02', 'SPRAY'],
    ]);
  });

  itOnce('is the same by GraphQL and by SQL', async () => {
    const query = `{ drive(project: "P1", drive: "N") { supportQuantitiesByGroundClass { groundClass item quantity } supportQuantitiesByInterval(lengthM: 5) { from item quantity } supportQuantitiesByDay { productionDay item quantity } supportQuantities { item quantity } } }`;
    const { drive } = (await app.http.post('/graphql').send({ query })).body.data as {
      drive: Record<string, Row[]>;
    };
    const rest = (rows: Row[], ...names: string[]) =>
      cells(rows, ...names).map((row) => row.map((cell) => cell ?? null));
    expect(cells(drive['supportQuantitiesByGroundClass']!, 'groundClass', 'item', 'quantity')).toEqual(
      rest(await read('N', '/ground-classes'), 'groundClass', 'item', 'quantity'),
    );
    expect(cells(drive['supportQuantitiesByInterval']!, 'from', 'item', 'quantity')).toEqual(
      rest(await read('N', '/intervals?lengthM=5'), 'from', 'item', 'quantity'),
    );
    expect(cells(drive['supportQuantitiesByDay']!, 'productionDay', 'item', 'quantity')).toEqual(
      rest(await read('N', '/days'), 'productionDay', 'item', 'quantity'),
    );
    const sql = await app.sql<Row>(
      `select item_code as item, sum(quantity)::text as quantity from report.support_by_interval where drive_code = 'N' group by 1 order by 1`,
    );
    expect(sql).toEqual([
      { item: 'BOLT', quantity: '9.000' },
      { item: 'MESH', quantity: '10.000' },
      { item: 'RIB', quantity: '1.000' },
      { item: 'SPRAY', quantity: '2.500' },
    ]);
  });
});

describe('any support, divided in any way', () => {
  const LENGTH_MM = 60_000;
  const line = fc.record({
    from: fc.integer({ min: 0, max: LENGTH_MM - 1 }),
    lengthMm: fc.integer({ min: 0, max: 20_000 }),
    thousandths: fc.integer({ min: 1, max: 50_000 }),
  });
  const cuts = fc.uniqueArray(fc.integer({ min: 0, max: LENGTH_MM }), { minLength: 2, maxLength: 6 });
  const thousandths = (rows: Row[]): bigint =>
    rows.reduce((total, { quantity = '' }) => total + BigInt(quantity.replace('.', '')), 0n);
  let drives = 0;

  it('sums to the whole, to the last digit', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom<1 | -1>(1, -1),
        fc.array(line, { minLength: 1, maxLength: 8 }),
        cuts,
        fc.integer({ min: 1000, max: 25_000 }),
        async (direction, lines, places, lengthMm) => {
          drives += 1;
          const drive = `C${drives}`;
          const start = 3_003_337;
          const chainage = (mm: number): string => formatChainage(start + direction * mm);
          await aDrive(app, {
            drive,
            startChainage: chainage(0),
            endChainage: chainage(LENGTH_MM),
            direction,
          });
          const shift = aShift();
          for (const { from, lengthMm: length, thousandths: quantity } of lines)
            shift.withSupport(
              'SPRAY',
              chainage(from),
              chainage(Math.min(from + length, LENGTH_MM)),
              (quantity / 1000).toFixed(3),
            );
          const ordered = [...places].sort((a, b) => a - b);
          ordered
            .slice(1)
            .forEach((to, index) =>
              shift.withGround(index % 2 === 0 ? 'A' : 'B', chainage(ordered[index] ?? 0), chainage(to)),
            );
          await post(drive, shift);
          const whole = BigInt(lines.reduce((total, { thousandths: quantity }) => total + quantity, 0));
          for (const path of [
            '',
            '/days',
            '/ground-classes',
            '/intervals',
            `/intervals?lengthM=${lengthMm / 1000}`,
          ])
            expect([path, thousandths(await read(drive, path))]).toEqual([path, whole]);
        },
      ),
      runs(3, 40),
    );
  });
});
