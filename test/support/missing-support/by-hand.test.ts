import { formatChainage } from '../../../src/engineering/chainage.js';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// Worked by hand, on a drive with rising and on one with falling chainage. Driven metres:
//
//     0      6      10 12     14     16     18     20 face
//     A      B      D1 B      C      -      A
//
// A demands 2 bolts/m in L1 and 0.5 m³/m of sprayed concrete in L2 (10 % tolerated), B 4 bolts/m in L1 (5 %), design section D1
// one rib/m in L1 and no bolt. C has no standard; from 16 to 18 m no class is noted. Ten strokes of 2 m. Limits: L1 4 m, L2 12 m
// behind the face, so L1 is due to 16 m, L2 to 8 m.

let app: TestApp;
let before: string;

type Row = Record<string, string | null>;

const DRIVES = { N: 1, S: -1 } as const;
type DriveCode = keyof typeof DRIVES;
const CODES: DriveCode[] = ['N', 'S'];

const at = (drive: DriveCode, metres: number): string =>
  formatChainage(1_200_000 + DRIVES[drive] * metres * 1000);

const url = (drive: string): string => `/v1/projects/P1/drives/${drive}`;

const put = async (path: string, body: object): Promise<unknown> => {
  const answer = await app.http.put(path).send(body);
  if (answer.status > 201) throw new Error(`${path}: ${answer.status} ${answer.text}`);
  return answer.body;
};

const read = async (drive: string, path: string): Promise<{ items: Row[]; zones: Row[] } & Row> =>
  (await app.http.get(`${url(drive)}/${path}`)).body;

/** Driven metres of a chainage. */
const driven = (drive: DriveCode, chainage?: string | null): number => {
  const [km = '0', m = '0'] = (chainage ?? '').split('+');
  return DRIVES[drive] * Number((Number(km) * 1000 + Number(m) - 1200).toFixed(3)) + 0; // never −0
};

const record = async (drive: DriveCode): Promise<void> => {
  const m = (metres: number): string => at(drive, metres);
  const shift = aShift();
  for (let stroke = 0; stroke < 10; stroke += 1) {
    const hour = String(6 + stroke).padStart(2, '0');
    shift.withStroke(stroke + 1, m(2 * stroke), m(2 * stroke + 2), `${hour}:00`, `${hour}:50`);
  }
  shift.withGround('A', m(0), m(6)).withGround('B', m(6), m(14)).withGround('C', m(14), m(16));
  shift.withGround('A', m(18), m(20));
  const bolts: [number, string][] = [
    [0, '4'],
    [2, '4'],
    [4, '3'],
    [6, '8'],
    [8, '7'],
    [10, '3'],
    [14, '5'],
    [21, '2'],
  ];
  for (const [place, quantity] of bolts) shift.withSupport('BOLT', m(place), undefined, quantity);
  shift.withSupport('BOLT', m(12), m(14), '8').withSupport('RIB', m(10), undefined, '2');
  shift.withSupport('SPRAY', m(0), m(6), '2.8', { zone: 'L2' });
  await put(`${url(drive)}/shifts/${shift.date}/${shift.shift}`, shift.build());
  await put(`${url(drive)}/design-sections/D1`, {
    from: m(10),
    to: m(12),
    edition: 'drawing 7',
    items: [{ item: 'RIB', zone: 'L1', quantityPerM: '1' }],
  });
  await put(`${url(drive)}/support-limits`, {
    limits: [
      { zone: 'L2', limitM: '12' },
      { zone: 'L1', limitM: '4' },
    ],
  });
};

const STANDARD_A = {
  edition: 'contract, table 3',
  items: [
    { item: 'SPRAY', zone: 'L2', quantityPerM: '0.5', tolerancePercent: '10' },
    { item: 'BOLT', zone: 'L1', quantityPerM: '2' },
  ],
};

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'S', startChainage: '1+200', endChainage: '0+200', direction: -1 });
  await put('/v1/projects/P1/ground-classes/C', { description: 'Poor rock' });
  await put('/v1/projects/P1/ground-classes/A/standard-support', STANDARD_A);
  await put('/v1/projects/P1/ground-classes/B/standard-support', {
    edition: 'contract, table 3',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '4', tolerancePercent: '5' }],
  });
  for (const drive of CODES) await record(drive);
  before = new Date().toISOString();
});

afterAll(() => app.close());

const FIELDS = ['item', 'zone', 'part', 'lengthM', 'required', 'installed', 'missingRaw', 'surplus'] as const;

/** A row as one line: from and to in driven metres, the figures, the tolerated and the reported shortfall, and the state. */
const linesOf = (drive: DriveCode, rows: Row[]): string[] =>
  rows.map((row) => {
    const fields = [...FIELDS, 'tolerated', 'missing', 'state'].map((field) => row[field] ?? '-');
    return [driven(drive, row['from']), driven(drive, row['to']), ...fields].join(' ');
  });

describe.each(CODES)('required against installed on drive %s', (drive) => {
  it('agrees with the figures worked by hand, by 10 m', async () => {
    const { items, faceChainage, caution } = await read(drive, 'missing-support?lengthM=10');
    expect(faceChainage).toBe(at(drive, 20));
    expect(caution).toMatch(/Decision support.*inspection on site/);
    expect(linesOf(drive, items)).toEqual([
      // bolts: 6 m · 2 + 4 m · 4 = 28, of which 5 % of 16 are tolerated; 4 + 4 + 3 + 8 + 7 = 26 are in
      '0 10 BOLT L1 due 10.000 28.000 26.000 2.000 0.000 0.800 2.000 missing',
      '0 10 SPRAY L2 due 6.000 3.000 2.800 0.200 0.000 0.300 0.000 within_tolerance',
      // due to 16 m: 2 m · 4 of class B; nothing demands the 3 bolts in the design section
      '10 20 BOLT L1 due 2.000 8.000 11.000 0.000 3.000 0.400 0.000 complete',
      '10 20 BOLT L1 not_assessed 0.000 0.000 5.000 0.000 5.000 0.000 0.000 not_assessed',
      '10 20 BOLT L1 not_yet_due 2.000 4.000 0.000 4.000 0.000 0.000 0.000 not_yet_due',
      '10 20 RIB L1 due 2.000 2.000 2.000 0.000 0.000 0.000 0.000 complete',
      '10 20 SPRAY L2 not_yet_due 2.000 1.000 0.000 1.000 0.000 0.100 0.000 not_yet_due',
      // class C and the 2 m without a class
      '10 20 - - not_assessed 4.000 0.000 0.000 0.000 0.000 0.000 0.000 not_assessed',
      '20 30 BOLT L1 ahead_of_face 0.000 0.000 2.000 0.000 2.000 0.000 0.000 ahead_of_face',
    ]);
  });

  it('is reported between two places, as one or by intervals, and from one snapshot', async () => {
    const between = `from=${encodeURIComponent(at(drive, 4))}&to=${at(drive, 10)}`; // a bare + too
    const { items } = await read(drive, `missing-support?${between}`);
    // 2 m · 2 + 4 m · 4 bolts against 3 + 8 + 7; of 2.8 m³ over 6 m the last third: 2.8 − 1.867
    expect(linesOf(drive, items)).toEqual([
      '4 10 BOLT L1 due 6.000 20.000 18.000 2.000 0.000 0.800 2.000 missing',
      '4 10 SPRAY L2 due 2.000 1.000 0.933 0.067 0.000 0.100 0.000 within_tolerance',
    ]);
    const twice = await read(drive, `missing-support?${between}&lengthM=5&state=missing`);
    // from 4 to 5 m: 2 required, 3 in; from 5 to 10 m: 2 + 16 = 18 required, 15 in, 0.8 tolerated. Strokes 4–6 and 8–10 lack one bolt
    // each, in their middle at 5 and at 9 m: the surplus from 4 to 5 m is in the same stroke
    expect(linesOf(drive, twice.items)).toEqual([
      '5 10 BOLT L1 due 5.000 18.000 15.000 3.000 0.000 0.800 2.000 missing',
    ]);
  });

  it('names the standard that requires it, with its edition', async () => {
    const { items, faceChainage, caution } = await read(drive, 'required-support');
    expect([faceChainage, caution]).toEqual([at(drive, 20), expect.stringMatching(/Decision support/)]);
    expect(
      items.map(({ from, to, basis, groundClass, designSection, edition, gap }) => [
        ...[driven(drive, from), driven(drive, to), basis, groundClass, designSection, edition, gap],
      ]),
    ).toEqual([
      [0, 6, 'noted', 'A', null, 'contract, table 3', null],
      [6, 10, 'noted', 'B', null, 'contract, table 3', null],
      [10, 12, 'design_section', 'B', 'D1', 'drawing 7', null],
      [12, 14, 'noted', 'B', null, 'contract, table 3', null],
      [14, 16, 'noted', 'C', null, null, 'no_standard'],
      [16, 18, null, null, null, null, 'no_class'],
      [18, 20, 'noted', 'A', null, 'contract, table 3', null],
    ]);
  });

  it('leaves lengths unsupported behind the face, by zone', async () => {
    // L1: strokes 4–6 (3 of 4 bolts), 8–10 (7 of 8, 0.4 tolerated) and 18–20 are short, 14–18 is not assessed. The nearest
    // complete stroke ends at 14 m. L1 is due to 16 m: 4 m of short strokes and 2 m not assessed lie behind that.
    // L2: 0.933, 0.934 and 0.933 of 1 m³ are within 10 %; from 6 to 14 m nothing is demanded; 18–20 is short, due to 8 m.
    const { zones } = await read(drive, 'unsupported-length');
    expect(zones).toEqual([
      {
        zone: 'L1',
        limitM: '4.000',
        unsupportedM: '6.000',
        supportedToChainage: at(drive, 14),
        completeToChainage: at(drive, 4),
        incompleteM: '6.000',
        overdueM: '4.000',
        notAssessedM: '4.000',
        overdueNotAssessedM: '2.000',
        state: 'exceeded',
        restsOn: 'A noted; B noted', // of the strokes 4–6, 8–10 and 18–20
      },
      {
        zone: 'L2',
        limitM: '12.000',
        unsupportedM: '6.000',
        supportedToChainage: at(drive, 14),
        completeToChainage: at(drive, 14),
        incompleteM: '2.000',
        overdueM: '0.000',
        notAssessedM: '4.000',
        overdueNotAssessedM: '0.000',
        state: 'within',
        restsOn: 'A noted',
      },
    ]);
  });

  it('lists what must be installed before the next stroke', async () => {
    const bolt = { zone: 'L1', item: 'BOLT', kind: 'bolt', description: 'Bolt 3 m', unit: 'nr' };
    const byNote = { A: { restsOn: 'A noted' }, B: { restsOn: 'B noted' } };
    const holes = [
      {
        ...bolt,
        from: at(drive, 4),
        to: at(drive, 6),
        required: '4.000',
        installed: '3.000',
        missing: '1.000',
        ...byNote.A,
      },
      {
        ...bolt,
        from: at(drive, 8),
        to: at(drive, 10),
        required: '8.000',
        installed: '7.000',
        missing: '1.000',
        ...byNote.B,
      },
    ];
    // 20 + 1.7 − 4 = 17.7 m in L1, 20 + 1.7 − 12 = 9.7 m in L2
    expect(await read(drive, 'before-next-stroke?strokeLengthM=1.7')).toMatchObject({
      faceChainage: at(drive, 20),
      caution: expect.stringMatching(/responsible engineer on site/),
      strokeLengthM: '1.700', // in the format of all lengths
      zones: [
        {
          zone: 'L1',
          limitM: '4.000',
          completeToChainage: at(drive, 17.7),
          notAssessedM: '4.000',
          isLimitShorter: false,
        },
        {
          zone: 'L2',
          limitM: '12.000',
          completeToChainage: at(drive, 9.7),
          notAssessedM: '0.000',
          isLimitShorter: false,
        },
      ],
      items: holes,
    });
    // a stroke of 5 m: all that is bored now must be complete in L1
    const long = await read(drive, 'before-next-stroke?strokeLengthM=5');
    expect(long.items).toEqual([
      ...holes,
      {
        ...bolt,
        from: at(drive, 18),
        to: at(drive, 20),
        required: '4.000',
        installed: '0.000',
        missing: '4.000',
        ...byNote.A,
      },
    ]);
    expect(long.zones).toMatchObject([
      { completeToChainage: at(drive, 20), isLimitShorter: true },
      { completeToChainage: at(drive, 13), isLimitShorter: false },
    ]);
    // the machine of the trial gives no stroke length
    const now = await read(drive, 'before-next-stroke');
    expect([now.items, now['strokeLengthM']]).toEqual([holes, null]);
    expect(now['unanswered']).toMatch(
      /no machine with a stroke length: only what is overdue now is reported/,
    );
  });

  it('is the same by GraphQL and by SQL', async () => {
    const query = `{ drive(project: "P1", drive: "${drive}") {
      requiredSupport { caution items { from to basis gap } } designSections { name from items { item unit } } supportLimits { zone limitM }
      missingSupport(lengthM: 10) { faceChainage caution items { ${FIELDS.join(' ')} from to tolerated missing state } }
      unsupportedLength { zones { zone unsupportedM state } } beforeNextStroke(strokeLengthM: 1.7) { items { missing } } } }`;
    const { data } = (await app.http.post('/graphql').send({ query })).body;
    const { items } = await read(drive, 'missing-support');
    expect(linesOf(drive, data.drive.missingSupport.items)).toEqual(linesOf(drive, items));
    expect(data.drive.requiredSupport.items).toHaveLength(7);
    expect(data.drive.designSections).toEqual([
      { name: 'D1', from: at(drive, 10), items: [{ item: 'RIB', unit: 'nr' }] },
    ]);
    expect(data.drive.supportLimits).toEqual([
      { zone: 'L1', limitM: '4.000' },
      { zone: 'L2', limitM: '12.000' },
    ]);
    expect(data.drive.unsupportedLength.zones[0]).toEqual({
      zone: 'L1',
      unsupportedM: '6.000',
      state: 'exceeded',
    });
    expect(data.drive.beforeNextStroke.items).toEqual([{ missing: '1.000' }, { missing: '1.000' }]);
    const sql = await app.sql<Row>(
      `select state, sum(missing)::float8 as missing from report.missing_support_by_interval where drive_code = $1 and state = 'missing' group by 1`,
      [drive],
    );
    expect(sql).toEqual([{ state: 'missing', missing: 2 }]);
    const views = await app.sql(
      `select zone, state from report.unsupported where drive_code = $1 order by zone`,
      [drive],
    );
    expect(views).toEqual([
      { zone: 'L1', state: 'exceeded' },
      { zone: 'L2', state: 'within' },
    ]);
  });
});

describe('later', () => {
  const PATHS = [
    'required-support',
    'missing-support?lengthM=5',
    'unsupported-length',
    'before-next-stroke?strokeLengthM=1.7',
  ];
  const asked = async (asOf = ''): Promise<string[]> =>
    Promise.all(
      PATHS.map(async (path) => {
        const moment = asOf && `${path.includes('?') ? '&' : '?'}asOf=${asOf}`;
        return (await app.http.get(`${url('N')}/${path}${moment}`)).text;
      }),
    );

  it('it is read as of a moment, whatever was installed, required or allowed since', async () => {
    const then = await asked();
    // the two missing bolts, a note where there was none, a standard for C, and another limit
    const shift = aShift('2027-03-02').withSupport('BOLT', '1+204', undefined, '1');
    shift.withSupport('BOLT', '1+208', undefined, '1').withGround('A', '1+216', '1+218');
    await put(`${url('N')}/shifts/2027-03-02/day`, shift.build());
    await put('/v1/projects/P1/ground-classes/C/standard-support', {
      edition: 'contract, table 4',
      items: [],
    });
    await put(`${url('N')}/support-limits`, { limits: [{ zone: 'L1', limitM: '2' }] });
    const { zones } = await read('N', 'unsupported-length');
    // C demands nothing; 16–18 lacks its 4 bolts and is at least 2 m behind the face
    expect(zones).toMatchObject([
      {
        limitM: '2.000',
        unsupportedM: '4.000',
        completeToChainage: '1+216.000',
        overdueM: '2.000',
        notAssessedM: '0.000',
        state: 'exceeded',
      },
      { zone: 'L2', limitM: null, unsupportedM: '4.000', overdueM: null, state: 'no_limit' },
    ]);
    const now = await asked();
    expect(now.map((text, index) => text === then[index])).toEqual([false, false, false, false]);
    expect(await asked(before)).toEqual(then);
  });

  it('an unknown length beyond the limit does not count as within it', async () => {
    await aDrive(app, { drive: 'Q' });
    const shift = aShift()
      .withStroke(1, '1+200', '1+202', '06:00', '07:00')
      .withStroke(2, '1+202', '1+204', '07:00', '08:00');
    await put(`${url('Q')}/shifts/2027-03-01/day`, shift.build());
    const state = async (limitM: string): Promise<unknown> => {
      await put(`${url('Q')}/support-limits`, { limits: [{ zone: 'L1', limitM }] });
      return (await read('Q', 'unsupported-length')).zones[0];
    };
    expect(await state('4')).toMatchObject({ unsupportedM: '4.000', notAssessedM: '4.000', state: 'within' });
    expect(await state('3.999')).toMatchObject({ overdueNotAssessedM: '0.001', state: 'not_assessed' });
    expect((await read('Q', 'missing-support')).items).toMatchObject([
      { lengthM: '4.000', state: 'not_assessed' },
    ]);
  });

  it('a drive without a metre has nothing to report', async () => {
    await aDrive(app, { drive: 'E' });
    expect((await read('E', 'missing-support')).items).toEqual([]);
    expect((await read('E', 'unsupported-length')).zones).toMatchObject([
      { unsupportedM: '0.000', state: 'no_limit' },
      { unsupportedM: '0.000', state: 'no_limit' },
    ]);
    expect(await read('E', 'before-next-stroke')).toMatchObject({ zones: [], items: [] });
    expect((await read('E', 'required-support')).items).toEqual([]);
  });

  it('what is not a stroke is assessed in parts of at most 2.5 m', async () => {
    await aDrive(app, { drive: 'I' });
    await app.sql(
      `insert into boring (drive_id, stroke_number, from_m, to_m) select id, s, f, t from drive, (values (1, 0, 6), (2, 9, 10)) b(s, f, t) where code = 'I'`,
    );
    const [row] = await app.sql<{ bounds: string }>(
      `select report.support_stroke(id)::text as bounds from drive where code = 'I'`,
    );
    expect(row?.bounds).toBe('{0.000,2.000,4.000,6.000,7.500,9.000,10.000}');
  });
});
