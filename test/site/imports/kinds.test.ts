import { readXlsx } from '../../../src/common/files/xlsx-read.js';
import { app, ownDrives, url } from '../../harness/own-drives.js';

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
