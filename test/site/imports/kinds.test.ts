import { readXlsx } from '../../../src/common/files/xlsx-read.js';
import { num, workbookOf } from '../../files/archives.js';
import { app, ownDrives, toDrive, url } from '../../harness/own-drives.js';

// Kinds whose rows belong to more than one record or list. Drives run from 1+200 with rising chainage.

ownDrives('IK');

const send = (kind: string, file: string | Buffer, at = url, fields: Record<string, string> = {}) =>
  app.http.post(`${at}/imports/${kind}`).field(fields).attach('file', Buffer.from(file), 'table');

const counts = ({ created, unchanged, updated, rejected }: Record<string, number>) => [
  created,
  unchanged,
  updated,
  rejected,
];

const faultsOf = (body: { errors: { pointer: string; detail: string }[] }) =>
  body.errors.map(({ pointer, detail }) => [pointer, detail]);

describe('strokes of a shift', () => {
  it('are read by their borings; an error belongs to its boring', async () => {
    const head = 'date,shift,state,number,from,to,startedAt,endedAt,muckMassT';
    const row = (number: number, from: string, to: string, hour: number): string =>
      `2027-03-01,day,draft,${number},${from},${to},2027-03-01T${hour}:00:00Z,2027-03-01T${hour}:30:00Z,100`;
    const rows = [
      row(1, '1+200', '1+201', 10),
      row(1, '1+201', '1+201.5', 11),
      row(2, '1+201.5', '1+203', 12),
    ];
    const wrong = [
      ...rows.slice(0, 1),
      row(1, '1+201', '1+201.5', 11).replace(',100', ',much'),
      ...rows.slice(2),
    ];
    const refused = await send('shift-strokes', [head, ...wrong].join('\n'));
    expect([refused.status, faultsOf(refused.body)]).toEqual([
      422,
      [['/rows/1/muckMassT', expect.stringMatching(/^line 3: .*muckMassT must be/)]],
    ]);
    const taken = await send('shift-strokes', [head, ...rows].join('\n'));
    expect([taken.body.errors, counts(taken.body)]).toEqual([undefined, [3, 0, 0, 0]]);
    const { body } = await app.http.get(`${url}/shifts/2027-03-01/day`);
    const lengths = body.strokes.map(({ number, borings }: { number: number; borings: { to: string }[] }) => [
      number,
      borings.map(({ to }) => to),
    ]);
    expect(lengths).toEqual([
      [1, ['1+201.000', '1+201.500']],
      [2, ['1+203.000']],
    ]);
    expect(counts((await send('shift-strokes', [head, ...rows].join('\n'))).body)).toEqual([0, 3, 0, 0]);
  });
});

describe('machines and calendars', () => {
  const P1 = '/v1/projects/P1';

  it('are imported with the data and the date of each', async () => {
    const machines = 'code;name;discCount;discRadiusMm\nIMP;Second machine;42;241,3\n';
    expect(counts((await send('machines', machines, P1)).body)).toEqual([1, 0, 0, 0]);
    expect((await app.http.get(`${P1}/machines/IMP`)).body).toMatchObject({
      discCount: 42,
      discRadiusMm: '241.300',
    });
    const calendars =
      'validFrom;name;startTime;endTime;weekdays\n2039-01-01;day;06:00;18:00;1;2\n2039-01-01;night;18:00;06:00;1\n';
    const tidy = calendars.replace(';1;2\n', ';"1;2"\n');
    expect(counts((await send('calendars', tidy, P1)).body)).toEqual([2, 0, 0, 0]);
    const { body } = await app.http.get(`${P1}/calendars/2039-01-01`);
    expect(
      body.shifts.map(({ name, weekdays }: { name: string; weekdays: number[] }) => [name, weekdays]),
    ).toEqual([
      ['day', [1, 2]],
      ['night', [1]],
    ]);
    expect(counts((await send('calendars', tidy, P1)).body)).toEqual([0, 2, 0, 0]);
  });
});

it('times of day are read as spreadsheets save them, with a note', async () => {
  const P1 = '/v1/projects/P1';
  const head = ['validFrom', 'name', 'startTime', 'endTime', 'weekdays'];
  const csv = `${head.join(';')}\n2047-01-01;day;6:00;18:00:00;1\n`;
  const { body } = await send('calendars', csv, P1);
  expect([counts(body), body.rows[0].notes]).toEqual([
    [1, 0, 0, 0],
    ['startTime is "6:00", read as 06:00', 'endTime is "18:00:00", read as 18:00'],
  ]);
  const book = (start: string): Buffer =>
    workbookOf([head, ['2047-01-01', 'day', num(start), num('0.75'), num('1')]]);
  expect(counts((await send('calendars', book('0.25'), P1)).body)).toEqual([0, 1, 0, 0]);
  const { body: refused } = await send('calendars', book('0.2501'), P1);
  expect(faultsOf(refused)).toEqual([
    [
      '/rows/0/startTime',
      'line 2: startTime is the number 0.2501; it must be a time of day in whole minutes, HH:MM',
    ],
  ]);
});

it('shifts of the calendar valid from the beginning are imported beside those of later calendars', async () => {
  const P1 = '/v1/projects/P1';
  const head = 'name,startTime,endTime,weekdays';
  const hour = (n: number): string => `${String(n + 6).padStart(2, '0')}:00`;
  const rows = Array.from({ length: 12 }, (_, n) => `s${n},${hour(n)},${hour(n + 1)},7`);
  const weekdays = { weekdays: [1, 2, 3, 4, 5, 6] };
  for (const name of ['day', 'night']) {
    const { body } = await app.http.get(`${P1}/calendar-shifts/${name}`);
    const { startTime, endTime } = body;
    await app.http.put(`${P1}/calendar-shifts/${name}`).send({ startTime, endTime, ...weekdays });
  }
  const taken = await send('calendar-shifts', [head, ...rows].join('\n'), P1);
  expect([taken.body.errors, counts(taken.body)]).toEqual([undefined, [12, 0, 0, 0]]);
  const later = { shifts: [{ name: 's3', startTime: '08:00', endTime: '20:00', weekdays: [1] }] };
  expect((await app.http.put(`${P1}/calendars/2041-01-01`).send(later)).status).toBe(201);
  const again = await send('calendar-shifts', [head, ...rows].join('\n'), P1);
  expect([again.body.errors, counts(again.body)]).toEqual([undefined, [0, 12, 0, 0]]);
  expect((await app.http.get(`${P1}/calendar-shifts/s3`)).body).toMatchObject({
    startTime: '09:00',
    weekdays: [7],
  });
});

it('columns that lists show below a value that the record does not have must be empty', async () => {
  const text = (governing: string, q: string): string =>
    `name,from,to,mappedBy,mappedAt,governing.state,q.lowest.q\nG,1+200,1+202,Ada,2027-03-01T06:00:00Z,${governing},${q}\n`;
  expect(faultsOf((await send('ground-logs', text('agreed', ''))).body)).toEqual([
    [
      '/rows/0/governing.state',
      'line 2: governing.state is agreed; the new record has none: leave the column out',
    ],
  ]);
  expect(counts((await send('ground-logs', text('', ''))).body)).toEqual([1, 0, 0, 0]);
  expect(faultsOf((await send('ground-logs', text('agreed', 'XYZ'))).body)).toEqual(
    ['governing.state', 'q.lowest.q'].map((field) => [
      `/rows/0/${field}`,
      `line 2: ${field} cannot be changed (current value null): omit it or send it unchanged`,
    ]),
  );
});

describe('the list of the records, as CSV,', () => {
  const P1 = '/v1/projects/P1';
  const ITEM = { item: 'BOLT', zone: 'L1', quantityPerM: '2' };
  const listOf = async (address: string): Promise<string> =>
    (await app.http.get(address).set('accept', 'text/csv')).text;

  it('of all calendars is taken by both their kinds, and says when a calendar ends', async () => {
    const shifts = [{ name: 'day', startTime: '07:00', endTime: '19:00', weekdays: [1, 2] }];
    for (const validFrom of ['2051-01-01', '2052-01-01'])
      expect((await app.http.put(`${P1}/calendars/${validFrom}`).send({ shifts })).status).toBe(201);
    const list = await listOf(`${P1}/calendar-shifts`);
    const rows = list.trimEnd().split('\r\n').length - 1;
    for (const kind of ['calendar-shifts', 'calendars'])
      expect(counts((await send(kind, list, P1)).body)).toEqual([0, rows, 0, 0]);
    const later = list.replaceAll('"07:00","19:00"', '"08:00","19:00"');
    expect(counts((await send('calendar-shifts', later, P1)).body)).toEqual([0, rows - 2, 2, 0]);
    const { body } = await app.http.get(`${P1}/calendars/2051-01-01`);
    expect(body.shifts).toMatchObject([{ startTime: '08:00', validUntil: '2051-12-31' }]);
    const wrong = await send('calendars', later.replace('"2051-12-31"', '"2050-12-31"'), P1);
    expect(faultsOf(wrong.body)).toEqual([
      [
        expect.stringMatching(/validUntil$/),
        expect.stringMatching(
          /^line \d+: validUntil is 2050-12-31; from the other columns it is "2051-12-31"$/,
        ),
      ],
    ]);
  });

  it('of revisions with their members is taken by the kind of the members, each revision by its date', async () => {
    const section = { edition: '1', from: '1+210', to: '1+250', items: [ITEM] };
    const next = { ...section, validFrom: '2051-01-01', revision: 'B', edition: '2', items: [] };
    for (const body of [section, next])
      expect((await app.http.put(`${url}/design-sections/DS1`).send(body)).status).toBeLessThan(300);
    const list = await listOf(`${url}/design-sections`);
    expect(counts((await send('design-sections', list)).body)).toEqual([0, 2, 0, 0]);
    const edited = list.replace(
      '"2","[]"',
      `"3","[{""item"":""MESH"",""zone"":""L2"",""quantityPerM"":""21""}]"`,
    );
    expect(edited).not.toBe(list);
    const { body } = await send('design-sections', edited);
    expect(counts(body)).toEqual([0, 1, 1, 0]);
    expect(body.rows).toMatchObject([
      { key: 'DS1 2051-01-01', changes: [{ field: 'edition' }, { field: 'items' }] },
    ]);
    const { body: now } = await app.http.get(`${url}/design-sections`);
    expect(now).toMatchObject([
      { edition: '1', items: [{ item: 'BOLT' }] },
      { edition: '3', items: [{ item: 'MESH' }] },
    ]);
    // and makes both in another drive: where the first ends follows from the second, which comes after it
    await toDrive('IKB');
    expect(counts((await send('design-sections', list)).body)).toEqual([2, 0, 0, 0]);
    expect(await listOf(`${url}/design-sections`)).toBe(list);
  });

  it('may lack what only the list shows', async () => {
    const baseline = {
      workingHoursPerDay: '20',
      intervals: [{ from: '1+200', to: '2+200', groundClass: 'A', advanceRateMPerD: '10' }],
    };
    const put = await app.http.put(`${url}/baselines/LIST`).send(baseline);
    expect([put.body.errors, put.status]).toEqual([undefined, 201]);
    const list = await listOf(`${url}/baselines`);
    const without = list.replace(/,intervalCount$/m, '').replaceAll(/,1$/gm, '');
    expect(without.split(',')).toHaveLength(list.split(',').length - 2);
    const { body } = await send('baseline-intervals', without);
    expect([body.errors, counts(body)]).toEqual([undefined, [0, 1, 0, 0]]);
    const edited = await send('baseline-intervals', 'baseline,remark\nLIST,tendered\n');
    expect(counts(edited.body)).toEqual([0, 0, 1, 0]);
    const { body: now } = await app.http.get(`${url}/baselines/LIST`);
    expect(now).toMatchObject({ remark: 'tendered', intervals: [{ to: '2+200.000' }] });
  });

  it('is refused with a heading that is neither of its members nor of its records', async () => {
    const { status, body } = await send(
      'design-sections',
      'name,from,to,items,colour\nA,1+210,1+220,[],red\n',
    );
    expect([status, body.errors.map(({ value }: { value: unknown }) => value)]).toEqual([
      422,
      expect.arrayContaining(['colour']),
    ]);
  });
});

describe('what can be imported', () => {
  it('is listed with columns, units and codes, by REST and by GraphQL', async () => {
    const { body } = await app.http.get('/v1/projects/P1/import-kinds');
    const holes = body.find(({ kind }: { kind: string }) => kind === 'probe-holes');
    expect(holes).toMatchObject({
      rows: 'probe holes',
      isOfDrive: true,
      permission: 'probing.write',
      isVersioned: false,
    });
    const field = (name: string) => holes.fields.find((each: { name: string }) => each.name === name);
    expect(field('name')).toMatchObject({ isKey: true, isNeeded: true, type: 'text' });
    expect(field('lengthM')).toMatchObject({ unit: 'm', isNeeded: true, type: 'number', codes: [] });
    expect(field('state').codes).toEqual(['drilled', 'abandoned', 'flooded', 'grouted', 'control_hole']);
    expect(field('collar').type).toBe('chainage');
    const query = '{ project(project: "P1") { importKinds { kind fields { name unit codes } } } }';
    const answer = await app.http.post('/graphql').send({ query });
    expect(answer.body.errors).toBeUndefined();
    expect(
      answer.body.data.project.importKinds.find(({ kind }: { kind: string }) => kind === 'probe-holes')
        .fields,
    ).toEqual(holes.fields.map(({ name, unit, codes }: Record<string, unknown>) => ({ name, unit, codes })));
  });

  it('has a template for each kind, whose headings are read again', async () => {
    const explained = new Map<string, Map<string | undefined, string | undefined>>();
    const { body } = await app.http.get('/v1/projects/P1/import-kinds');
    for (const { kind, isOfDrive } of body as { kind: string; isOfDrive: boolean }[]) {
      const at = isOfDrive ? url : '/v1/projects/P1';
      const csv = await app.http.get(`/v1/projects/P1/import-kinds/${kind}/template.csv`);
      expect([csv.status, csv.headers['content-disposition']]).toEqual([
        200,
        `attachment; filename="${kind}.csv"`,
      ]);
      const xlsx = await app.http
        .get(`/v1/projects/P1/import-kinds/${kind}/template.xlsx`)
        .buffer()
        .parse((res, done) => {
          const parts: Buffer[] = [];
          res.on('data', (part: Buffer) => parts.push(part));
          res.on('end', () => done(null, Buffer.concat(parts)));
        });
      explained.set(
        kind,
        new Map(
          readXlsx(xlsx.body as Buffer, 'Codes').rows.map(({ cells }) => [
            cells.get(0)?.text,
            cells.get(4)?.text,
          ]),
        ),
      );
      for (const file of [csv.text, xlsx.body as Buffer]) {
        const { status, body: refused } = await send(kind, file, at, { delimiter: '' });
        expect([kind, status, refused.detail]).toEqual([
          kind,
          422,
          expect.stringMatching(/^the table has a heading row but no /),
        ]);
      }
    }
    expect((await app.http.get('/v1/projects/P1/import-kinds/none/template.csv')).status).toBe(404);
    for (const [kind, column, list] of [
      ['shift-activities', 'code', 'activity-codes'],
      ['shift-support', 'item', 'support-items'],
      ['class-decisions', 'groundClass', 'ground-classes'],
    ] as const) {
      const { body: entries } = await app.http.get(`/v1/projects/P1/${list}`);
      const codes = (entries as { code: string }[]).map(({ code }) => code);
      expect(codes.length).toBeGreaterThan(0);
      expect([kind, explained.get(kind)?.get(column)]).toEqual([kind, codes.join(', ')]);
    }
  });
});
