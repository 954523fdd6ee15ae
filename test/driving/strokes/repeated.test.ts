import pg from 'pg';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { untilOneWaits } from '../../harness/until.js';
import { num, workbookOf } from '../../files/archives.js';
import {
  csv,
  HEAD,
  IMPORT,
  MAP,
  ROWS,
  STROKES,
  TIMED_HEAD,
  TIMED_MAP,
  type Upload,
  upload,
} from './tables.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

beforeEach(async () => {
  await app.sql(`delete from shift; delete from boring; delete from drive where code <> 'N'`);
});

const taken = async (sent: Upload = {}) => {
  const { status, body } = await upload(app, sent);
  if (status !== 200) throw new Error(`${status} ${JSON.stringify(body)}`);
  return body;
};

const counts = ({ created, unchanged, rejected, removed, lengthM }: Record<string, unknown>) => [
  created,
  unchanged,
  rejected,
  removed,
  lengthM,
];

const strokes = async () => {
  const { body } = await app.http.get(STROKES);
  return body.items.map(({ number, from, to }: Record<string, unknown>) => [number, from, to]);
};

const postShift = async () => {
  const shift = aShift()
    .submitted()
    .withStroke(4, '1+205.1', '1+206.8', '06:00', '06:40')
    .withActivity('BORE', '06:00', '06:40')
    .withActivity('MAINT', '06:40', '18:00')
    .build();
  const { status } = await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift);
  expect(status).toBe(201);
};

describe('a table sent again', () => {
  it('changes nothing, and every row is unchanged', async () => {
    expect(counts(await taken())).toEqual([3, 0, 0, 0, '5.100']);
    const before = await app.contents();
    expect(counts(await taken())).toEqual([0, 3, 0, 0, '5.100']);
    expect(await app.contents()).toBe(before);
  });

  it('changes nothing with all its readings, times and factors', async () => {
    const head = `${TIMED_HEAD},T,n,p,g,m`;
    const map = {
      ...TIMED_MAP,
      torqueKnm: { column: 'T', factor: 1000 },
      rotationRpm: 'n',
      penetrationMmPerRev: 'p',
      gripperPressureBar: 'g',
      muckMassT: { column: 'm', factor: 0.001 },
    };
    const row =
      '1,0,1.7,10360.8198127451,2027-03-01T06:00:00+01:00,2027-03-01T06:40:00.500+01:00,1.665715616246498,6,9.8,180,173456.7';
    await taken({ file: csv([row], head), map });
    const [stored] = await app.sql(
      'select thrust_kn, torque_knm, muck_mass_t::text, started_at, ended_at, gripper_pressure_bar from boring',
    );
    expect(stored).toEqual({
      thrust_kn: 10360.8198127451,
      torque_knm: 1665.715616246498,
      muck_mass_t: '173.457',
      started_at: new Date('2027-03-01T05:00:00Z'),
      ended_at: new Date('2027-03-01T05:40:00.500Z'),
      gripper_pressure_bar: 180,
    });
    expect(counts(await taken({ file: csv([row], head), map }))).toEqual([0, 1, 0, 0, '1.700']);
  });

  it('adds what is new, behind or ahead, in any order of its rows', async () => {
    await taken({ file: csv(ROWS.slice(1, 2)) });
    expect(counts(await taken({ file: csv([...ROWS].reverse()) }))).toEqual([2, 1, 0, 0, '5.100']);
  });

  it('closes its gaps up to what is ahead, so that a part of it stays the same', async () => {
    const fields = { closeGaps: '0.010' };
    const rows = ['1,0,1.69,', '2,1.7,3.39,', '3,3.4,5.1,'];
    await taken({ file: csv(rows), fields });
    expect(counts(await taken({ file: csv(rows.slice(0, 2)), fields }))).toEqual([0, 2, 0, 0, '3.400']);
  });
});

describe('a gap', () => {
  it.each([
    ['as large as said is closed', '0.010', '1.690', '1+201.700'],
    ['larger by a millimetre is left', '0.010', '1.689', '1+201.689'],
  ])('%s', async (_name, closeGaps, to, ends) => {
    await taken({ file: csv([`1,0,${to},`, '2,1.7,3.4,']), fields: { closeGaps } });
    expect((await strokes())[0]).toEqual([1, '1+200.000', ends]);
  });
});

describe('a dry run', () => {
  it('reports what the import would do, and writes nothing', async () => {
    const before = await app.contents();
    const trial = await taken({ fields: { dryRun: 'true' } });
    expect(await app.contents()).toBe(before);
    const { dryRun, ...report } = await taken();
    expect(trial).toEqual({ ...report, dryRun: true });
    expect(dryRun).toBe(false);
  });

  it('applies the rules of the database too, and writes nothing', async () => {
    await taken();
    await postShift();
    const before = await app.contents();
    const fields = { dryRun: 'true', replace: 'true' };
    const { status, body } = await upload(app, { file: csv(ROWS.slice(0, 2)), fields });
    expect([status, body.detail]).toEqual([409, expect.stringContaining('1.700 m would be missing')]);
    expect(await app.contents()).toBe(before);
  });
});

describe('a table that replaces', () => {
  const fields = { replace: 'true' };

  it('replaces what was imported before, and leaves what is the same', async () => {
    await taken();
    const [kept] = await app.sql('select id from boring where stroke_number = 1');
    const report = await taken({ file: csv([ROWS[0] ?? '', '2,1.7,3.5,9100.5']), fields });
    expect(counts(report)).toEqual([0, 1, 0, 1, '3.500']);
    expect(report.rows[1]).toMatchObject({
      outcome: 'updated',
      changes: [{ field: 'toM', from: '3.400', to: '3.500' }],
    });
    expect(await strokes()).toEqual([
      [1, '1+200.000', '1+201.700'],
      [2, '1+201.700', '1+203.500'],
    ]);
    expect(await app.sql('select id from boring where stroke_number = 1')).toEqual([kept]);
    const before = await app.contents();
    expect(counts(await taken({ file: csv([ROWS[0] ?? '', '2,1.7,3.5,9100.5']), fields }))).toEqual([
      0,
      2,
      0,
      0,
      '3.500',
    ]);
    expect(await app.contents()).toBe(before);
  });

  it('leaves the strokes of shifts alone', async () => {
    await taken();
    await postShift();
    const halves = ['0,0,0.8,', '1,0.8,1.7,', ...ROWS.slice(1)];
    const report = await taken({ file: csv(halves), fields });
    expect([counts(report), report.updated]).toEqual([[1, 2, 0, 0, '5.100'], 1]); // 0 is new, 1 has changed
    expect((await strokes()).map(([number]: [number]) => number)).toEqual([0, 1, 2, 3, 4]);
    const [shift] = await app.sql('select stroke_number from boring where shift_id is not null');
    expect(shift).toEqual({ stroke_number: 4 });
  });

  it('touches no other drive', async () => {
    await aDrive(app, { drive: 'S' });
    await taken({ url: '/v1/projects/P1/drives/S/strokes' });
    await taken();
    await taken({ file: csv(ROWS.slice(0, 1)), fields });
    const counted = await app.sql(
      'select d.code, count(*)::int as n from boring b join drive d on d.id = b.drive_id group by 1 order by 1',
    );
    expect(counted).toEqual([
      { code: 'N', n: 1 },
      { code: 'S', n: 3 },
    ]);
  });

  it('that is refused leaves everything as it was', async () => {
    await taken();
    const before = await app.contents();
    expect((await upload(app, { file: csv(['1,0,1.7,x']), fields })).status).toBe(422);
    expect(await app.contents()).toBe(before);
  });
});

describe('a table is read', () => {
  it.each<[string, Upload]>([
    ['with a byte order mark', { file: `\ufeff${csv()}` }],
    ['with a byte order mark before a quoted heading', { file: `\ufeff"No"${csv().slice(2)}` }],
    ['with CRLF', { file: csv().replaceAll('\n', '\r\n') }],
    ['without a last line end', { file: csv().trimEnd() }],
    ['with semicolons, by name', { file: csv().replaceAll(',', ';'), fields: { delimiter: 'semicolon' } }],
    ['with semicolons', { file: csv().replaceAll(',', ';'), fields: { delimiter: ';' } }],
    ['with tabs', { file: csv().replaceAll(',', '\t'), fields: { delimiter: 'tab' } }],
    ['with semicolons, which are found', { file: csv().replaceAll(',', ';') }],
    ['with decimal commas', { file: csv().replaceAll(',', ';').replaceAll('.', ',') }],
    ['in UTF-16', { file: Buffer.from(csv(), 'utf16le') }],
    [
      'in windows-1252',
      { file: Buffer.from(csv(ROWS, HEAD.replace('No', 'N\xb0')), 'latin1'), map: { ...MAP, number: 'N°' } },
    ],
    [
      'from a workbook',
      {
        file: workbookOf([
          HEAD.split(','),
          ...ROWS.map((row) => row.split(',').map((text) => (text === '' ? null : num(text)))),
        ]),
      },
    ],
    ['with every field quoted', { file: csv(ROWS.map((row) => `"${row.replaceAll(',', '","')}"`)) }],
    [
      'with a heading of two lines',
      { file: csv(ROWS, 'No,From [m],To [m],"Thrust\n[kN]"'), map: { ...MAP, thrustKn: 'Thrust\n[kN]' } },
    ],
    [
      'with blanks around',
      {
        file: csv(
          ROWS.map((row) => ` ${row.replaceAll(',', ' , ')} `),
          ' No , From [m],To [m] ,Thrust [kN]',
        ),
      },
    ],
    ['with empty options', { fields: { closeGaps: '', delimiter: '', dryRun: '', replace: '' } }],
  ])('%s', async (_name, sent) => {
    expect(counts(await taken(sent))).toEqual([3, 0, 0, 0, '5.100']);
    const [thrust] = await app.sql(`select array_agg(thrust_kn order by stroke_number) as kn from boring`);
    expect(thrust).toEqual({ kn: [9000, 9100.5, null] });
  });

  it('with chainage, on a drive against the chainage', async () => {
    await aDrive(app, { drive: 'W', startChainage: '2+200', endChainage: '1+200', direction: -1 });
    const url = '/v1/projects/P1/drives/W/strokes';
    const map = { number: 'No', from: 'From', to: 'To' };
    const file = csv(['1,2+200,2+198.31', '2,2198.3,2+196.6'], 'No,From,To');
    const report = await taken({ url, file, map, fields: { closeGaps: '0.010' } });
    expect(report.rows[0].notes).toEqual(['to 2+198.310 moved to 2+198.300: 0.010 m gap closed']);
    const { body } = await app.http.get(url);
    expect(body.items.map(({ to }: { to: string }) => to)).toEqual(['2+198.300', '2+196.600']);
    const wrong = await upload(app, { url, file: csv(['3,2190,2191'], 'No,From,To'), map });
    expect(wrong.body.errors[0]).toMatchObject({
      pointer: '/rows/0/to',
      detail: 'line 2: 2+191.000 does not lie ahead of 2+190.000: the drive runs with falling chainage',
    });
  });

  it('with the map sent as a file in the form', async () => {
    const { status, body } = await app.http
      .post(IMPORT)
      .attach('map', Buffer.from(JSON.stringify(MAP)), 'map.json')
      .attach('file', Buffer.from(csv()), 'strokes.csv');
    expect([status, body.created]).toEqual([200, 3]);
  });
});

describe('a table from a list or a template', () => {
  it('may be the list as CSV: strokes of imports, of shifts and of several borings are unchanged', async () => {
    await taken();
    const shift = aShift()
      .withStroke(4, '1+205.1', '1+206.8', '06:00', '06:40')
      .withStroke(5, '1+206.8', '1+207.3', '07:00', '07:10', { thrustKn: 9000 })
      .withStroke(5, '1+207.3', '1+208.1', '07:30', '07:50', { thrustKn: 9001 }) // the mean by metres is 9000.61538…
      .build();
    expect((await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift)).status).toBe(
      201,
    );
    const { text } = await app.http.get(STROKES).set('accept', 'text/csv');
    const before = await app.contents();
    const sent = await app.http.post(IMPORT).attach('file', Buffer.from(text), 'strokes.csv');
    expect([sent.status, counts(sent.body)]).toEqual([200, [0, 5, 0, 0, '8.100']]);
    expect(sent.body.ignored).toEqual(expect.arrayContaining(['lengthM', 'boringCount', 'torqueRatio']));
    expect(await app.contents()).toBe(before);
    const other = text.replace('1+208.100', '1+208.000');
    const refused = await app.http.post(IMPORT).attach('file', Buffer.from(other), 'strokes.csv');
    expect([refused.status, refused.body.errors[0].detail]).toEqual([
      409,
      'line 6: stroke 5 exists already, in 2 borings, the first of shift 2027-03-01 day',
    ]);
  });

  it('is read by headings with units, which the template has', async () => {
    const { text } = await app.http.get('/v1/projects/P1/import-kinds/strokes/template.csv');
    expect(text.trim().split(',').slice(0, 8)).toEqual([
      'number',
      'from',
      'fromM [m]',
      'to',
      'toM [m]',
      'startedAt',
      'endedAt',
      'thrustKn [kN]',
    ]);
    const file = 'number,from m [mm],to m [m],Torque [MNm]\n1,0,1.7,1.5\n';
    const { status, body } = await app.http.post(IMPORT).attach('file', Buffer.from(file), 'strokes.csv');
    expect([status, counts(body)]).toEqual([200, [1, 0, 0, 0, '1.700']]);
    expect((await app.http.get(STROKES)).body.items[0].torqueKnm).toBe(1500);
  });
});

describe('with mode valid-rows', () => {
  it('the others are written; a row is checked against those that are', async () => {
    // 2 overlaps 1 and is refused; 3 would conflict with 2 by number, but not with 1 alone
    const file = csv(['1,0,1.7,', '9,1.6,3.4,', '2,3.4,5.1,', 'x,5.1,6.8,']);
    const report = await taken({ file, fields: { mode: 'valid-rows' } });
    expect([counts(report), report.rows.map(({ outcome }: { outcome: string }) => outcome)]).toEqual([
      [2, 0, 2, 0, '3.400'],
      ['created', 'rejected', 'created', 'rejected'],
    ]);
    expect((await strokes()).map(([number]: [number]) => number)).toEqual([1, 2]);
  });

  it.each([
    ['strokes', { mode: 'valid-rows', replace: 'true' }, '/replace', /takes a table whole/],
    [
      'overbreak',
      { replace: 'true' },
      '/replace',
      'overbreak takes no replace: it is for strokes and bill-items',
    ],
    ['overbreak', { closeGaps: '0.010' }, '/closeGaps', 'overbreak takes no closeGaps: it is for strokes'],
  ])('%s refuse %j', async (kind, fields, pointer, detail) => {
    const at = IMPORT.replace(/strokes$/, kind);
    const { status, body } = await app.http
      .post(at)
      .field(fields)
      .attach('file', Buffer.from('name\nA\n'), 'a.csv');
    expect([status, body.errors]).toMatchObject([
      422,
      [{ pointer, detail: typeof detail === 'string' ? detail : expect.stringMatching(detail) }],
    ]);
  });
});

describe('imports at the same time', () => {
  it('run one after the other: one creates, the other finds the rows unchanged', async () => {
    const both = await Promise.all([taken(), taken()]);
    expect(both.map(({ created }) => created).sort()).toEqual([0, 3]);
  });

  it('wait for a writer of the drive, then see what it wrote', async () => {
    const writer = new pg.Client({ connectionString: app.url });
    await writer.connect();
    try {
      await writer.query('begin');
      await writer.query('select from drive for no key update');
      await writer.query(
        `insert into boring (drive_id, stroke_number, from_m, to_m, thrust_kn) select id, 1, 0, 1.7, 9000 from drive`,
      );
      const waiting = taken();
      await untilOneWaits(app);
      await writer.query('commit');
      expect(counts(await waiting)).toEqual([2, 1, 0, 0, '5.100']);
    } finally {
      await writer.end();
    }
  });
});
