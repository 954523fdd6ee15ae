import type { ShiftDocument } from '../../src/features/driving/shifts/shift-document.model.js';
import { aDrive, aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { shiftsByGraphql, shiftsByRest } from '../harness/shift-apis.js';

// Individual positions of the pieces of a support line in the shift document.

type Line = ShiftDocument['support'][number];

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'BACK', startChainage: '2+200', endChainage: '1+200', direction: -1 });
});

afterAll(() => app.close());

const RIBS: Partial<Line> = { positions: ['1+200', '1+201.700', '1+203.400'] };
const ROW: Partial<Line> = { arcPositionsDeg: ['300', '330', '0', '30', '60'] };
const GRID: Partial<Line> = {
  arcFromDeg: '330',
  arcToDeg: '30',
  positions: ['1+201', '1+201', '1+202.500', '1+202.500'],
  arcPositionsDeg: ['340', '20.5', '350', '10'],
};

const whole = () =>
  aShift()
    .withSupport('RIB', '1+200', '1+203.500', '3', RIBS)
    .withSupport('BOLT', '1+204', undefined, '5', ROW)
    .withSupport('BOLT', '1+200', '1+203', '4', GRID)
    .withSupport('BOLT', '1+200', '1+203', '4');

describe.each([
  ['REST', shiftsByRest],
  ['GraphQL', shiftsByGraphql],
])('positions by %s', (_, apiOf) => {
  it('read back as they were posted, and posting that changes nothing', async () => {
    const api = apiOf(app, 'P1', () => ({}));
    const before = await api.get('', '2027-03-01');
    if (before.etag) await api.remove('', '2027-03-01', before.etag);
    const posted = await api.put('', '2027-03-01', whole().build());
    expect([posted.detail, posted.outcome]).toEqual([undefined, 'created']);
    const read = await api.get('', '2027-03-01');
    expect(read.document?.support).toMatchObject([
      { item: 'RIB', positions: ['1+200.000', '1+201.700', '1+203.400'], arcPositionsDeg: null },
      { item: 'BOLT', positions: null, arcPositionsDeg: ['300.00', '330.00', '0.00', '30.00', '60.00'] },
      {
        positions: ['1+201.000', '1+201.000', '1+202.500', '1+202.500'],
        arcPositionsDeg: ['340.00', '20.50', '350.00', '10.00'],
      },
      { item: 'BOLT', quantity: '4.000', positions: null, arcPositionsDeg: null },
    ]);
    const again = await api.put('', '2027-03-01', read.document ?? {}, read.etag);
    expect([again.outcome, again.etag]).toEqual(['unchanged', posted.etag]);
  });
});

it('are in the record as they were posted, in driven metres, on a drive against the chainage too', async () => {
  const shift = aShift('2027-03-02').withSupport('RIB', '2+200', '2+190', '2', {
    positions: ['2+199', 2191.5 as unknown as string],
    arcPositionsDeg: [0, 12.5] as unknown as string[],
  });
  const posted = await app.http.put('/v1/projects/P1/drives/BACK/shifts/2027-03-02/day').send(shift.build());
  expect([posted.status, posted.body.detail]).toEqual([201, undefined]);
  const rows = await app.sql(
    `select number, at_m, arc_deg from drive d cross join report.support_piece_of(d.id) where d.code = 'BACK' order by number`,
  );
  expect(rows).toEqual([
    { number: 1, at_m: '1.000', arc_deg: '0.00' },
    { number: 2, at_m: '8.500', arc_deg: '12.50' },
  ]);
});

it('another position makes another document', async () => {
  const url = '/v1/projects/P1/drives/N/shifts/2027-03-03/day';
  const ribs = (positions?: string[]) =>
    aShift('2027-03-03').withSupport('RIB', '1+300', '1+304', '2', { positions }).build();
  const etags = new Set<string>();
  for (const document of [ribs(), ribs(['1+301', '1+303']), ribs(['1+301', '1+303.001'])]) {
    const posted = await app.http
      .put(url)
      .set('If-Match', [...etags].at(-1) ?? '*')
      .send(document);
    const { headers } = posted.status === 412 ? await app.http.put(url).send(document) : posted;
    etags.add(String(headers.etag));
  }
  expect(etags.size).toBe(3);
});

describe('a line is refused and nothing written, with', () => {
  const FIVE = ['1+200', '1+200.5', '1+201', '1+201.5', '1+201.999'];

  it.each<[string, [string, string | undefined, string, Partial<Line>], [string, string][]]>([
    [
      'fewer positions than pieces',
      ['1+200', '1+202', '5', { positions: FIVE.slice(1) }],
      [['/positions', 'the line has 5 pieces and 4 positions: there must be one for each piece']],
    ],
    [
      'a position at the end of the interval, and one before its start',
      ['1+200', '1+202', '5', { positions: ['1+199.999', ...FIVE.slice(1, 4), '1+202'] }],
      [
        ['/positions/0', '1+199.999 is not on the line, from 1+200 to before 1+202'],
        ['/positions/4', '1+202 is where the line ends: end the line beyond its last piece'],
      ],
    ],
    [
      'positions against the drive',
      ['1+200', '1+202', '2', { positions: ['1+201', '1+200.500'] }],
      [['/positions/1', '1+200.500 comes before 1+201: positions must follow the direction of the drive']],
    ],
    [
      'positions of a line at one chainage',
      ['1+200', undefined, '1', { positions: ['1+200'] }],
      [['/positions', 'the pieces of a line at one chainage must be at 1+200']],
    ],
    [
      'a position that is not a chainage',
      ['1+200', '1+202', '2', { positions: ['1+200', '1+2o1'] }],
      [['/positions/1', 'value 2, "1+2o1", must be a chainage']],
    ],
    [
      'a place off the arc of the line',
      ['1+200', undefined, '2', { arcFromDeg: '330', arcToDeg: '30', arcPositionsDeg: ['350', '30.01'] }],
      [['/arcPositionsDeg/1', '30.01° does not lie on the arc of the line, clockwise from 330° to 30°']],
    ],
    [
      'a place beyond the ring',
      ['1+200', undefined, '1', { arcPositionsDeg: ['360.01'] }],
      [['/arcPositionsDeg/0', 'value 1, "360.01", must be a number from 0 to 360 with at most 2 decimals']],
    ],
    [
      'more pieces than a line may have',
      ['1+200', '1+202', '10001', {}],
      [['/quantity', 'a line has at most 10000 pieces, not 10001']],
    ],
  ])('%s', async (_, [from, to, quantity, more], faults) => {
    const before = await app.contents();
    const document = aShift('2027-03-09').withSupport('BOLT', from, to, quantity, more).build();
    const { status, body } = await app.http
      .put('/v1/projects/P1/drives/N/shifts/2027-03-09/day')
      .send(document);
    expect(status).toBe(422);
    expect(body.errors).toEqual(
      faults.map(([pointer, detail]) =>
        expect.objectContaining({ pointer: `/support/0${pointer}`, detail: expect.stringContaining(detail) }),
      ),
    );
    expect(await app.contents()).toBe(before);
  });

  it('positions of what is not counted', async () => {
    const document = aShift('2027-03-09').withSupport('MESH', '1+200', '1+202', '2', {
      positions: ['1+200', '1+201'],
    });
    const { status, body } = await app.http
      .put('/v1/projects/P1/drives/N/shifts/2027-03-09/day')
      .send(document.build());
    expect([status, body.errors[0].detail]).toEqual([
      422,
      'MESH is measured in m2: positions belong to items counted in nr',
    ]);
  });
});

describe('the database refuses, of writers that bypass the service', () => {
  it.each([
    ['support_installed_positions', `positions_m = '{1,0.5,2}'`],
    ['support_installed_positions', `positions_m = '{0,1,3.5}'`],
    ['support_installed_positions', `positions_m = '{0,null,1}'`],
    ['support_installed_positions', `positions_m = '{0,1}'`],
    ['support_installed_arc_positions', `arc_positions_deg = '{0,1}'`],
    ['support_installed_arc_positions', `arc_positions_deg = '{0,1,360.5}'`],
    [
      'support_installed_arc_positions',
      `arc_positions_deg = '{0,10,300}', arc_from_deg = 350, arc_to_deg = 20`,
    ],
    ['support_installed_pieces', `quantity = 10001, positions_m = null`],
  ])('%s: %s', async (constraint, change) => {
    await expect(
      app.sql(`update support_installed r set ${change} from support_item i, shift s where i.id = r.support_item_id and i.code = 'RIB'
        and s.id = r.shift_id and s.shift_date = '2027-03-01'`),
    ).rejects.toMatchObject({ constraint });
  });
});

it('more than a thousand pieces have their places', async () => {
  const positions = Array.from({ length: 1200 }, (_, i) => `1+${(210 + i * 0.001).toFixed(3)}`);
  const line = { positions, arcPositionsDeg: positions.map((_, i) => String(i % 360)) };
  const shift = aShift('2027-03-09').withSupport('BOLT', '1+210', '1+212', '1200', line);
  const { status, text } = await app.http
    .put('/v1/projects/P1/drives/N/shifts/2027-03-09/day')
    .send(shift.build());
  expect([status, status === 201 ? '' : text]).toEqual([201, '']);
  const { body } = await app.http.get('/v1/projects/P1/drives/N/shifts/2027-03-09/day');
  expect(body.support[0].positions).toHaveLength(1200);
});
