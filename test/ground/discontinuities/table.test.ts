import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A geologist's sheet of discontinuities as CSV.

let app: TestApp;
const URL = '/v1/projects/P1/drives/N/discontinuities';
const IMPORT = '/v1/projects/P1/drives/N/imports/discontinuities';

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const upload = (text: string, fields: Record<string, string> = {}) => {
  const request = app.http.post(IMPORT).attach('file', Buffer.from(text), 'sheet.csv');
  for (const [name, value] of Object.entries(fields)) void request.field(name, value);
  return request;
};

const HEAD = 'name,chainage,type,dip_deg,dip_direction_deg';

it('is imported whole, and reports what it did; an empty cell is unknown', async () => {
  const sheet = `\ufeff${HEAD},set,spacing_m,infilling,mapped_by,mapped_at,remark
D1,1+201,joint,60,135,J1,0.25,none,Ada,2027-03-01T12:00:00Z,"wet, left wall"
D2, 1+202.5 ,foliation,20.5,280,,,,,,

`;
  const taken = await upload(sheet);
  expect([taken.status, taken.body]).toEqual([
    200,
    expect.objectContaining({ created: 2, updated: 0, unchanged: 0 }),
  ]);
  expect((await upload(sheet)).body).toMatchObject({ created: 0, updated: 0, unchanged: 2 });
  const semicolons = `${HEAD}\nD2,1+202.5,foliation,21,280`.replaceAll(',', ';');
  expect((await upload(semicolons, { delimiter: 'semicolon' })).body).toMatchObject({
    created: 0,
    updated: 1,
    unchanged: 0,
  });
  expect((await app.http.get(`${URL}/D1`)).body).toMatchObject({
    chainage: '1+201.000',
    dipDeg: '60.00',
    set: 'J1',
    spacingM: '0.250',
    infilling: 'none',
    mappedBy: 'Ada',
    remark: 'wet, left wall',
  });
  expect((await app.http.get(`${URL}/D2`)).body).toMatchObject({ dipDeg: '21.00', set: null, remark: null });
});

const REFUSED: [string, string, [string, string | RegExp][]][] = [
  ['no rows', HEAD, [['/file', 'the table has a heading row but no discontinuities']]],
  [
    'a heading of none, and one twice',
    'name,chainage,type,dip_deg,dip_dir,name\nD,1+201,joint,60,135,D',
    [
      ['/file', /^"dip_dir" is not a known heading; name the columns by map, or use name, chainage, /],
      ['/file', 'the heading "name" appears twice, in columns 1 and 6'],
    ],
  ],
  [
    'a row that is short',
    `${HEAD}\nD,1+201,joint,60`,
    [['/rows/0', 'line 2: the row has 4 columns; there are 5 headings']],
  ],
  [
    'values that break a rule',
    `${HEAD}\nD,1+201,joint,60,135\n\nE,1+201,crack,91,\nsets,1+201,joint,6,6`,
    [
      ['/rows/1/type', /^line 4: type must be one of/],
      ['/rows/1/dipDeg', /^line 4: dipDeg must be a number from 0 to 90/],
      ['/rows/1/dipDirectionDeg', 'line 4: dipDirectionDeg is missing'],
      ['/rows/2/name', /^line 5: name must not be “sets”/],
    ],
  ],
  [
    'a place outside of the drive and a name twice',
    `${HEAD}\nD,9+000,joint,60,135\nD,1+201,joint,60,135`,
    [
      ['/rows/0/chainage', /^line 2: 9\+000.000 lies beyond the end/],
      ['/rows/1/name', 'line 3: D is listed twice, on lines 2 and 3'],
    ],
  ],
];

it.each(REFUSED)('with %s is refused whole, with its lines', async (_, text, faults) => {
  const before = await app.contents();
  const { status, body } = await upload(text);
  const listed = body.errors.map(({ pointer, detail }: Record<string, string>) => [pointer, detail]);
  expect([status, listed]).toEqual([
    422,
    faults.map(([pointer, detail]) => [
      pointer,
      typeof detail === 'string' ? detail : expect.stringMatching(detail),
    ]),
  ]);
  expect(await app.contents()).toBe(before);
});

it('without a file, or without a form, is refused', async () => {
  const none = await app.http.post(IMPORT).field('delimiter', ',');
  expect([none.status, none.body.errors[0].pointer]).toEqual([422, '/file']);
  expect((await app.http.post(IMPORT).send({})).status).toBe(415);
  expect((await upload(HEAD, { delimiter: 'x' })).body.errors[0].pointer).toBe('/delimiter');
});
