import { aShift } from '../../builders/shift.js';
import { app, drive, ownDrives, url } from '../../harness/own-drives.js';

// Shortfall of a stroke that is divided by intervals. By hand.

ownDrives('CU');

/** One stroke from 1+200 in class A, with a demand of an item per metre, everything due. */
const stroke = async (item: string, quantityPerM: string, to: string, installed: string): Promise<void> => {
  const done = async (path: string, body: object): Promise<void> => {
    const { status, text } = await app.http.put(path).send(body);
    if (status > 201) throw new Error(`${path}: ${status} ${text}`);
  };
  await done('/v1/projects/P1/ground-classes/A/standard-support', {
    edition: 'table 3',
    items: [{ item, zone: 'L1', quantityPerM }],
  });
  const shift = aShift().withStroke(1, '1+200', to, '06:00', '08:00').withGround('A', '1+200', to);
  if (installed !== '0') shift.withSupport(item, '1+200', to, installed);
  await done(`${url}/shifts/2027-03-01/day`, shift.build());
  await done(`${url}/support-limits`, { limits: [{ zone: 'L1', limitM: '0' }] });
};

const missing = async (query: string): Promise<string[]> => {
  const { status, body } = await app.http.get(`${url}/missing-support?${query}`);
  if (status !== 200) throw new Error(JSON.stringify(body));
  return body.items
    .filter(({ part }: { part: string }) => part === 'due')
    .map(({ missing: m }: { missing: string }) => m);
};

it('a measured quantity is shared by length, to the thousandth, and sums to what is missing', async () => {
  // 2.4 m at 0.5 m³/m are 1.2 m³, 0.2 are in: 1 m³ missing, 1 / 2.4 = 0.41667 of it to 1 m, 0.83333 to 2 m: 0.417, 0.833 − 0.417, 1 − 0.833
  await stroke('SPRAY', '0.5', '1+202.4', '0.2');
  expect(await missing('lengthM=1')).toEqual(['0.417', '0.416', '0.167']);
});

it('a missing piece belongs to the part that contains its place, even a third of a millimetre before its end', async () => {
  // 2 m at 1.5 per metre are 3 bolts, evenly at 1/3, 1 and 5/3 m; 5/3 m lie before 1.667 m and beyond 1.666 m
  await stroke('BOLT', '1.5', '1+202', '0');
  expect(await missing('from=1%2B200&to=1%2B201.667')).toEqual(['3.000']);
  expect(await missing('from=1%2B201.667&to=1%2B202')).toEqual(['0.000']);
  expect(await missing('from=1%2B200&to=1%2B201.666')).toEqual(['2.000']);
  // in SQL, where the judgement of the stroke is not stored, there is no row for its part outside the range either
  const rows = await app.sql(
    `select from_m::text, to_m::text, missing::text from report.missing_support_between('P1', $1, 1200.5, 1201.666, null)`,
    [drive],
  );
  expect(rows).toEqual([{ from_m: '0.500', to_m: '1.666', missing: '1.000' }]);
});

it('before the next stroke a run counts as far as it will be due, and once', async () => {
  const shift = aShift().withGround('A', '1+200', '1+206');
  for (const n of [0, 1, 2])
    shift.withStroke(n + 1, `1+20${2 * n}`, `1+20${2 * n + 2}`, `0${6 + n}:00`, `0${6 + n}:30`);
  await app.http.put('/v1/projects/P1/ground-classes/A/standard-support').send({
    edition: 'table 3',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '2' }],
  });
  await app.http.put(`${url}/shifts/2027-03-01/day`).send(shift.build());
  await app.http.put(`${url}/support-limits`).send({ limits: [{ zone: 'L1', limitM: '4' }] });
  const lacking = async (strokeLengthM: string): Promise<string[][]> =>
    (await app.http.get(`${url}/before-next-stroke?strokeLengthM=${strokeLengthM}`)).body.items.map(
      ({ from, to, missing: m }: Record<string, string>) => [from, to, m],
    );
  // 6 m are bored and 2 bolts per metre are missing. After 2 m more the limit is at 4 m, where the third stroke begins; after 4 m it is at the face.
  expect(await lacking('2')).toEqual([['1+200.000', '1+204.000', '8.000']]);
  expect(await lacking('4')).toEqual([['1+200.000', '1+206.000', '12.000']]);
});
