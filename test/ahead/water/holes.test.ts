import { app, drive, url, ownDrives, toDrive } from '../../harness/own-drives.js';

// Inflow of holes: as measured, as noted with a probe hole and as the total of its log.

type Row = Record<string, unknown>;

const put = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(`${url}/${path}`).send(body);
  if (status >= 300) throw new Error(text);
};

const measured = (name: string, body: object): Promise<void> =>
  put(`inflow-measurements/${name}`, { place: 'hole', method: 'bucket', ...body });

const at = (day: number): string => `2026-03-${String(day).padStart(2, '0')}T10:00:00+00:00`;

const cells = async (path: string, ...names: string[]): Promise<unknown[][]> => {
  const { body } = await app.http.get(`${url}/${path}`);
  return (body as Row[]).map((row) => names.map((name) => row[name]));
};

ownDrives('WH');

beforeEach(() => toDrive(`${drive}L`, { startChainage: '1+150', endChainage: '2+150' }));

it('the latest measurement of a hole counts, its own note from when it was drilled', async () => {
  const hole = { collar: '1+200', lookOutDeg: '5', lengthM: '30', waterInflowLPerMin: '7.5' };
  await put('probe-holes/PH1', { ...hole, drilledAt: at(2) });
  await put('probe-holes/PH2', { ...hole, drilledAt: at(2) });
  await put('probe-holes/PH3', hole); // time of drilling unknown
  const drained = { hole: 'PH1' };
  await measured('M1', { ...drained, flowLPerMin: '20', measuredAt: at(1) });
  await measured('M2', { ...drained, hole: 'PH2', flowLPerMin: '3', measuredAt: at(4) });
  expect(await cells('inflow-of-holes', 'hole', 'inflowLPerMin', 'measurement')).toEqual([
    ['PH1', '7.500', null],
    ['PH2', '3.000', 'M2'],
  ]);
});

it('a hole counts by its log where the log adds up to more than its note', async () => {
  const log = (...flows: string[]) =>
    flows.map((waterInflowLPerMin, n) => ({ fromM: `${3 * n}`, toM: `${3 * n + 3}`, waterInflowLPerMin }));
  const hole = { collar: '1+200', lookOutDeg: '5', lengthM: '30', drilledAt: at(2) };
  await put('probe-holes/PH1', { ...hole, log: log('4', '0', '6.5') }); // 10.5
  await put('probe-holes/PH2', { ...hole, waterInflowLPerMin: '8', log: log('3', '7.01') }); // 8 < 10.01
  await put('probe-holes/PH3', { ...hole, waterInflowLPerMin: '12', log: log('3') }); // 12 > 3
  await put('probe-holes/PH4', { ...hole, log: log('90') });
  await put('probe-holes/PH5', { ...hole, log: [{ fromM: '0', toM: '3', isVoid: true }] });
  await measured('M1', { hole: 'PH4', flowLPerMin: '2', measuredAt: at(4) });
  expect(await cells('inflow-of-holes', 'hole', 'inflowLPerMin', 'measurement')).toEqual([
    ...[
      ['PH1', '10.500', null],
      ['PH2', '10.010', null],
    ],
    ...[
      ['PH3', '12.000', null],
      ['PH4', '2.000', 'M1'],
    ],
  ]);
  await put('water-limits/2026-01-01', { perHoleLPerMin: '10.01' });
  expect(await cells('inflow-over-trigger', 'hole', 'inflowLPerMin')).toEqual([
    ['PH1', '10.500'],
    ['PH3', '12.000'],
  ]);
});
