import { jest } from '@jest/globals';
import { hearStatements } from '../../harness/sent.js';
import { app, drive, ownDrives, url } from '../../harness/own-drives.js';
import { num, workbookOf } from '../../files/archives.js';

// Imported tables of records, as their PUT takes them. Drives run from 1+200 with rising chainage.

ownDrives('IM');

const send = (kind: string, file: string | Buffer, fields: Record<string, string> = {}, at = url) =>
  app.http.post(`${at}/imports/${kind}`).field(fields).attach('file', Buffer.from(file), 'table');

const counts = ({ created, unchanged, updated, rejected }: Record<string, number>) => [
  created,
  unchanged,
  updated,
  rejected,
];

const faultsOf = (body: { errors: { pointer: string; detail: string }[] }) =>
  body.errors.map(({ pointer, detail }) => [pointer, detail]);

const HEAD = 'name;from;to;cause;volumeM3;remark';
const A = 'A;1+200;1+201,5;geological;2,5;';
const B = 'B;1+210;1+212;operational;0,75;left wall';
const table = (...rows: string[]): string => [HEAD, ...rows].join('\n');

describe('a table', () => {
  it('is tried, imported, repeated and changed, record by record', async () => {
    const before = await app.contents();
    const tried = await send('overbreak', table(A, B), { dryRun: 'true' });
    expect([tried.status, counts(tried.body), tried.body.dryRun]).toEqual([200, [2, 0, 0, 0], true]);
    expect(tried.body.read).toMatchObject({
      file: 'csv',
      encoding: 'utf-8',
      delimiter: 'semicolon',
      decimal: 'comma',
      chainages: 'km+m',
    });
    expect(await app.contents()).toBe(before);
    expect(counts((await send('overbreak', table(A, B))).body)).toEqual([2, 0, 0, 0]);
    expect((await app.http.get(`${url}/overbreak/A`)).body).toMatchObject({
      to: '1+201.500',
      volumeM3: '2.500',
    });
    expect(counts((await send('overbreak', table(A, B))).body)).toEqual([0, 2, 0, 0]);
    const { body } = await send('overbreak', table(A, B.replace('0,75', '0,8')));
    expect(counts(body)).toEqual([0, 1, 1, 0]);
    expect(body.rows).toEqual([
      {
        line: 3,
        key: 'B',
        outcome: 'updated',
        faults: [],
        changes: [{ field: 'volumeM3', from: '0.750', to: '0.8' }],
        notes: [],
      },
    ]);
  });

  it('keeps values without a column, and clears values with an empty cell', async () => {
    await send('overbreak', table(A, B));
    expect(counts((await send('overbreak', 'name,cause\nB,geological\n')).body)).toEqual([0, 0, 1, 0]);
    expect((await app.http.get(`${url}/overbreak/B`)).body).toMatchObject({
      cause: 'geological',
      volumeM3: '0.750',
      remark: 'left wall',
    });
    await send('overbreak', 'name,remark\nB,\n');
    expect((await app.http.get(`${url}/overbreak/B`)).body.remark).toBe(null);
  });

  it('is refused whole for its errors, each with field, value, rule and row; valid-rows imports the others', async () => {
    const before = await app.contents();
    const rows = [
      A,
      'C;9+000;1+212;bad;x;',
      '',
      'A;1+200;1+201;geological;1;',
      ';1+200;1+201;geological;1;',
      'D;1+200',
    ];
    const { status, body } = await send('overbreak', table(...rows));
    expect([status, body.detail]).toEqual([422, '4 of 5 rows rejected, nothing was written; see errors']);
    expect(faultsOf(body)).toEqual([
      ['/rows/1/cause', expect.stringMatching(/^line 3: cause must be one of/)],
      ['/rows/1/volumeM3', expect.stringMatching(/^line 3: volumeM3 must be/)],
      ['/rows/2/name', 'line 5: A is listed twice, on lines 2 and 5'],
      ['/rows/3/name', 'line 6: name is missing'],
      ['/rows/4', 'line 7: the row has 2 columns; there are 6 headings'],
    ]);
    expect(body.errors[0].value).toBe('bad');
    expect(await app.contents()).toBe(before);
    const valid = await send('overbreak', table(...rows), { mode: 'valid-rows' });
    expect([valid.status, counts(valid.body)]).toEqual([200, [1, 0, 0, 4]]);
    expect(
      (await app.http.get(`${url}/overbreak`)).body.items.map(({ name }: { name: string }) => name),
    ).toEqual(['A']);
  });

  it('with a place outside the drive is refused by the rules of the record', async () => {
    const { status, body } = await send('overbreak', table('C;9+000;9+001;geological;1;'));
    expect([status, faultsOf(body)[0]]).toEqual([
      422,
      ['/rows/0/from', expect.stringMatching(/^line 2: 9\+000\.000 lies beyond the end of the drive/)],
    ]);
  });

  it('is recorded in the history with actor and reason, except unchanged rows', async () => {
    const why = { 'X-Reason': 'Survey%20of%20May' };
    await send('overbreak', table(A)).set(why);
    await send('overbreak', table(A)).set(why);
    const { body } = await app.http.get('/v1/projects/P1/changes').query({ drive, first: 5 });
    const own = body.items.filter(({ reason }: { reason: string }) => reason === 'Survey of May');
    expect(own).toHaveLength(1);
  });
});

describe('columns', () => {
  const get = async (name: string) => (await app.http.get(`${url}/probe-holes/${name}`)).body;

  it('are found by their names, with or without unit, and converted exactly', async () => {
    const text = `name;Collar;look_out_deg;Length [cm];Diameter [cm]\nA;1+200;3,5;2550,5;7,62\n`;
    expect((await send('probe-holes', text)).body).toMatchObject({ created: 1 });
    expect(await get('A')).toMatchObject({ lookOutDeg: '3.50', lengthM: '25.505', diameterMm: '76.20' });
  });

  it('are those of the map: unit, factor, offset, value', async () => {
    const map = JSON.stringify({
      name: 'Hole',
      collar: 'At',
      lookOutDeg: { value: 5 },
      lengthM: { column: 'End', offset: -2.5 },
      diameterMm: { column: 'Dia', unit: 'cm' },
      waterInflowLPerMin: { column: 'Q', factor: 60 },
    });
    const text = 'Hole,At,End,Dia,Q,Driller\nA,1+200,32.5,7.6,0.05,X\n';
    const { body } = await send('probe-holes', text, { map });
    expect([body.created, body.ignored]).toEqual([1, ['Driller']]);
    expect(await get('A')).toMatchObject({
      lookOutDeg: '5.00',
      lengthM: '30.000',
      diameterMm: '76.00',
      waterInflowLPerMin: '3.00',
    });
  });

  it('that are unknown, occur twice or have a unit of another quantity are refused', async () => {
    const text = 'name,depth,name,Length [bar],collar\nA,1,A,1,1+200\n';
    const { status, body } = await send('probe-holes', text);
    expect([status, faultsOf(body)]).toEqual([
      422,
      [
        [
          '/file',
          expect.stringMatching(
            /^"depth" is not a known heading; name the columns by map, or use name, collar,/,
          ),
        ],
        [
          '/file',
          expect.stringMatching(
            /^"Length \[bar\]" has the unit bar, from which lengthM \[m\] cannot be converted/,
          ),
        ],
        ['/file', 'the heading "name" appears twice, in columns 1 and 3'],
      ],
    ]);
    const missing = await send('probe-holes', 'collar\n1+200\n');
    expect(faultsOf(missing.body)).toEqual([
      ['/file', 'the table has no column "name", which names its record'],
    ]);
  });

  it.each([
    ['{"depth":"x"}', '/map/depth', /^depth is not a field of this kind; the fields are name, collar/],
    ['{"name":"x"}', '/map/name', /^the table has no column "x"; its columns are "name"/],
    ['{"name":{"column":"name","factor":2}}', '/map/name', /takes no unit, factor or offset/],
    [
      '{"lengthM":{"column":"name","unit":"kg"}}',
      '/map/lengthM',
      /^kg cannot be converted exactly to lengthM/,
    ],
    [
      '{"lengthM":{"column":"name","factor":0}}',
      '/map/lengthM',
      /^the factor of lengthM must be a number other than 0/,
    ],
    ['{"name":{"colum":"name"}}', '/map/name', /^name has "colum"; it must be/],
    ['{"name":3}', '/map/name', /^name must be a column heading/],
    ['[]', '/map', /must be a JSON object/],
    ['{', '/map', /^the map is not JSON/],
  ])('with the map %s are refused', async (map, pointer, detail) => {
    const { status, body } = await send('probe-holes', 'name\nA\n', { map });
    expect([status, faultsOf(body)[0]]).toEqual([422, [pointer, expect.stringMatching(detail)]]);
  });

  it('that lists show and no PUT accepts must equal the stored or the resulting values', async () => {
    await send('probe-holes', 'name,collar,lookOutDeg,lengthM\nA,1+200,0,30\n');
    const good = await send('probe-holes', 'name,remark,axialReachM\nA,seen,30.000\n');
    expect(counts(good.body)).toEqual([0, 0, 1, 0]);
    const before = await app.contents();
    const { status, body } = await send('probe-holes', 'name,remark,axialReachM\nA,other,31\n', {
      mode: 'valid-rows',
    });
    expect([status, body.rejected, body.rows[0].faults[0]]).toEqual([
      200,
      1,
      {
        field: 'axialReachM',
        value: '31',
        detail: 'axialReachM cannot be changed (current value "30.000"): omit it or send it unchanged',
      },
    ]);
    expect(await app.contents()).toBe(before);
  });
});

describe('a workbook', () => {
  it('is read by its cells; merged, broken and wrong ones are errors of their row', async () => {
    const file = workbookOf(
      [
        ['Overbreak of May'],
        ['name', 'from', 'to', 'cause', 'volumeM3'],
        ['A', '1+200', '1+201', 'geological', num('2.5000000000000001')],
        [num('7'), num('1210.5'), '1+212', 'geological', num('1E-1')],
        ['C', '1+220', '1+221', 'geological', { xml: '<f>1/0</f><v>#DIV/0!</v>', type: 'e' }],
        ['D', '1+220', '1+221', 'geological', { xml: '<f>1+1</f>' }],
        ['E', '1+220', '1+221', 'geological', num('1')],
      ],
      ['B7:C7'],
    );
    const { body } = await send('overbreak', file, { mode: 'valid-rows' });
    expect(counts(body)).toEqual([2, 0, 0, 3]);
    expect(body.rows.map(({ line, faults }: never) => [line, faults])).toEqual([
      [5, [{ field: 'volumeM3', value: '#DIV/0!', detail: 'volumeM3 is #DIV/0!; it must be a number' }]],
      [
        6,
        [
          {
            field: 'volumeM3',
            value: '',
            detail: 'volumeM3 is a formula without a stored value: let the spreadsheet compute and save it',
          },
        ],
      ],
      [
        7,
        [
          { field: 'from', value: 'B7:C7', detail: 'from lies in the merged cells B7:C7: unmerge them' },
          { field: 'to', value: 'B7:C7', detail: 'to lies in the merged cells B7:C7: unmerge them' },
        ],
      ],
    ]);
    expect((await app.http.get(`${url}/overbreak/7`)).body).toMatchObject({
      from: '1+210.500',
      volumeM3: '0.100',
    });
  });
});

describe('rows that are members of a record', () => {
  const ROWS = ['B1;20;1+200;1+300;A;12', 'B1;20;1+300;2+200;A;10', 'B2;20;1+200;2+200;A;9'];
  const text = (rows = ROWS): string =>
    ['baseline;workingHoursPerDay;from;to;groundClass;advanceRateMPerD', ...rows].join('\n');

  it('make one record per key, whole or not at all', async () => {
    const first = await send('baseline-intervals', text());
    expect([first.body.errors, counts(first.body)]).toEqual([undefined, [3, 0, 0, 0]]);
    expect(counts((await send('baseline-intervals', text())).body)).toEqual([0, 3, 0, 0]);
    const changed = await send('baseline-intervals', text(['B1;20;1+200;2+200;A;12']));
    expect(counts(changed.body)).toEqual([0, 0, 1, 0]);
    expect((await app.http.get(`${url}/baselines/B1`)).body.intervals).toHaveLength(1);
  });

  it('are rejected together, each with the reason', async () => {
    const wrong = [ROWS[0] ?? '', 'B1;21;1+300;2+200;NONE;10', ROWS[2] ?? ''];
    const { body } = await send('baseline-intervals', text(wrong), { mode: 'valid-rows' });
    expect(counts(body)).toEqual([1, 0, 0, 2]);
    expect(body.rows.map(({ line, faults }: never) => [line, faults])).toEqual([
      [2, [{ field: '', value: null, detail: 'rejected with row 3, which is of the same record' }]],
      [
        3,
        [
          {
            field: 'workingHoursPerDay',
            value: '21',
            detail: 'workingHoursPerDay of one baseline differs: 20 on line 2',
          },
        ],
      ],
    ]);
    const { body: other } = await send(
      'baseline-intervals',
      text([ROWS[0] ?? '', 'B1;20;1+300;2+200;NONE;10']),
    );
    expect(faultsOf(other)).toEqual([
      ['/rows/1/groundClass', expect.stringMatching(/^line 3: ground class NONE/)],
    ]);
  });

  it('of a shift name the version that they replace', async () => {
    const head = 'date,shift,state,startedAt,endedAt,code';
    const row = (end: string): string =>
      `2027-03-01,day,draft,2027-03-01T06:00:00Z,2027-03-01T${end}:00Z,MAINT`;
    const first = await send('shift-activities', [head, row('08:00')].join('\n'));
    expect([first.status, first.body.errors, first.body.created]).toEqual([200, undefined, 1]);
    const { status, body } = await send('shift-activities', [head, row('09:00')].join('\n'));
    expect(body.errors[0].value).toBe('');
    expect([status, faultsOf(body)]).toEqual([
      428,
      [
        [
          '/rows/0/etag',
          expect.stringMatching(/^line 2: the shift exists: give in a column etag the version you replace/),
        ],
      ],
    ]);
    const { headers } = await app.http.get(`${url}/shifts/2027-03-01/day`);
    const tag = String(headers['etag']).replaceAll('"', '""');
    const versioned = [`${head},etag`, `${row('09:00')},"${tag}"`].join('\n');
    expect(counts((await send('shift-activities', versioned)).body)).toEqual([0, 0, 1, 0]);
    const stale = await send('shift-activities', versioned.replace('09:00', '10:00'));
    expect([stale.status, stale.body.errors]).toEqual([
      412,
      [expect.objectContaining({ pointer: '/rows/0/etag', value: headers['etag'] })],
    ]);
  });
});

describe('an import request', () => {
  it.each<[string, string, Record<string, string>, number, RegExp]>([
    ['an unknown kind', 'metres', {}, 404, /^There is no kind metres to import; the kinds are parties, /],
    [
      'a kind of the project',
      'zones',
      {},
      422,
      /^zones are of the project: …\/projects\/\{project\}\/imports\/zones/,
    ],
    ['an unknown field', 'overbreak', { colour: 'red' }, 422, /^property colour should not exist/],
    ['an unknown mode', 'overbreak', { mode: 'some' }, 422, /^mode must be one of whole, valid-rows/],
    ['an invalid flag', 'overbreak', { dryRun: 'perhaps' }, 422, /^dryRun must be true or false/],
    ['an unknown encoding', 'overbreak', { encoding: 'ebcdic' }, 422, /^encoding must be one of/],
  ])('with %s is refused', async (_, kind, fields, status, detail) => {
    const answer = await send(kind, table(A), fields);
    expect([answer.status, answer.body.detail]).toEqual([status, expect.stringMatching(detail)]);
  });

  it('without a file, without a drive, or as JSON is refused', async () => {
    expect(
      (await app.http.post(`${url}/imports/overbreak`).field('mode', 'whole')).body.errors[0].pointer,
    ).toBe('/file');
    expect((await send('overbreak', table(A), {}, '/v1/projects/P1/drives/NONE')).status).toBe(404);
    expect((await app.http.post(`${url}/imports/overbreak`).send({})).status).toBe(415);
  });
});

/** Statements whose results the service caches for two seconds (access, length of the drive), and the frame of each transaction. */
const BELIEVED = /project_access|select drive_length\(|^begin |^commit$/;

const ROWS: Record<string, { head: string; row: (n: number) => string }> = {
  discontinuities: {
    head: 'name,chainage,type,dipDeg,dipDirectionDeg',
    row: (n) => `J${n},1+20${n % 10},joint,60,135`,
  },
  overbreak: {
    head: 'name,from,to,cause,volumeM3',
    row: (n) => `O${n},1+${300 + n},1+${301 + n},geological,1.5`,
  },
  'ground-logs': {
    head: 'name,from,to,mappedBy,mappedAt',
    row: (n) => `G${n},1+${300 + n},1+${301 + n},geologist,2024-03-01T06:00:00Z`,
  },
  'inflow-measurements': {
    head: 'name,place,method,measuredAt,flowLPerMin',
    row: (n) => `F${n},portal,weir,2024-03-01T06:00:00Z,${n}`,
  },
  encounters: {
    head: 'name,kind,from,to,source,metAt,metBy',
    row: (n) => `E${n},void,1+300,1+301,boring,2024-03-01T06:00:00Z,geologist`,
  },
  'probe-holes': { head: 'name,collar,lookOutDeg,lengthM', row: (n) => `H${n},1+${300 + n},5,20` },
  'probe-logs': {
    head: 'hole,collar,lookOutDeg,lengthM,fromM,toM',
    row: (n) => `L${n},1+${300 + n},5,20,0,5`,
  },
};

it.each(Object.entries(ROWS))(
  '%s need as many statements for five rows as for fifty, new or changed',
  async (kind, { head, row }) => {
    const rows = (count: number, from: number): string =>
      [head, ...Array.from({ length: count }, (_, index) => row(from + index))].join('\n');
    const sent: number[] = [];
    for (const [count, from] of [
      [12, 0],
      [13, 50],
      [60, 100],
    ] as const) {
      const heard = hearStatements();
      const { body } = await send(kind, rows(count, from), { decimal: 'point' });
      expect([body.errors, counts(body)]).toEqual([undefined, [count, 0, 0, 0]]);
      sent.push(heard.filter((text) => !BELIEVED.test(text)).length);
      jest.restoreAllMocks();
    }
    expect(sent).toEqual([sent[0], sent[0], sent[0]]);
    const changed: number[] = [];
    for (const count of [5, 50]) {
      const heard = hearStatements();
      const [first, ...others] = rows(count, 100).split('\n');
      const remarked = [`${first},remark`, ...others.map((line) => `${line},changed in ${count}`)].join('\n');
      const { body } = await send(kind, remarked, { decimal: 'point' });
      expect([body.errors, counts(body)]).toEqual([undefined, [0, 0, count, 0]]);
      changed.push(heard.filter((text) => !BELIEVED.test(text)).length);
      jest.restoreAllMocks();
    }
    expect(changed).toEqual([changed[0], changed[0]]);
  },
);
