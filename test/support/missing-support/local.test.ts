import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A surplus in one stroke does not make up for a shortfall in another; a fraction of a piece is not missing, but is carried on.

let app: TestApp;

const put = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(`/v1/projects/P1${path}`).send(body);
  if (status > 201) throw new Error(`${path}: ${status} ${text}`);
};

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

let drives = 0;

/** Strokes of 2 m, each with some bolts in its middle, with a demand per metre; what is missing overall, and the state of L1 without limit. */
const judged = async (quantityPerM: string, bolts: number[]): Promise<unknown[]> => {
  drives += 1;
  const drive = `L${drives}`;
  await aDrive(app, { drive });
  await put('/ground-classes/A/standard-support', {
    edition: 'table 3',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM }],
  });
  const at = (m: number): string => `1+${200 + m}`;
  const shift = aShift().withGround('A', at(0), at(2 * bolts.length));
  for (const [n, count] of bolts.entries()) {
    const hour = String(6 + n).padStart(2, '0');
    shift.withStroke(n + 1, at(2 * n), at(2 * n + 2), `${hour}:00`, `${hour}:50`);
    if (count > 0) shift.withSupport('BOLT', at(2 * n + 1), undefined, String(count));
  }
  await put(`/drives/${drive}/shifts/2027-03-01/day`, shift.build());
  await put(`/drives/${drive}/support-limits`, { limits: [{ zone: 'L1', limitM: '0' }] });
  const read = async (path: string) => (await app.http.get(`/v1/projects/P1/drives/${drive}/${path}`)).body;
  const [row] = (await read('missing-support?lengthM=1000')).items;
  const { zones } = await read('unsupported-length');
  return [row.missingRaw, row.surplus, row.missing, row.state, zones[0].state, zones[0].incompleteM];
};

it('eight bolts in the first stroke do not support the second', async () => {
  // over 4 m 8 are required and 8 are in; the second stroke lacks its 4
  expect(await judged('2', [8, 0])).toEqual(['0.000', '0.000', '4.000', 'missing', 'exceeded', '2.000']);
});

it('less than a whole bolt does not count as missing in a stroke', async () => {
  // 3.333334 a stroke: 3, 3 and 4 are possible
  expect(await judged('1.666667', [3, 3, 4])).toEqual([
    '0.000002',
    '0.000',
    '0.000',
    'within_tolerance',
    'within',
    '0.000',
  ]);
  expect(await judged('1.666667', [4, 3, 3])).toEqual([
    '0.000002',
    '0.000',
    '0.000',
    'within_tolerance',
    'within',
    '0.000',
  ]);
});

it('fractions of a bolt missing stroke after stroke count where they reach one', async () => {
  // 0.333334 carried three times is 1.000002, in the third stroke; the fourth begins at 0.000002
  expect(await judged('1.666667', [3, 3, 3, 3])).toEqual([
    '1.333336',
    '0.000',
    '1.000',
    'missing',
    'exceeded',
    '2.000',
  ]);
});
