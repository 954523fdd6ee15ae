import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { app, ownDrives, url } from '../../harness/own-drives.js';

// The length of a stroke whose borings are of two shifts; by default 2.5 m are the most without a machine (docs/calculations.md, Doubts).

ownDrives('Q');

beforeAll(() => app.sql('delete from doubt_limit')); // the defaults count

const DAY = '2027-03-01';
const LOADS = { thrustKn: 9000, torqueKnm: 900, rotationRpm: 6, penetrationMmPerRev: 8 };
const LONGER = 'stroke_longer_than_machine';

interface Item {
  kind: string;
  doubt?: string;
  date?: string;
  shift?: string;
  strokeNumber?: number;
}

const put = async (shift: ShiftBuilder, etag?: string): Promise<{ doubts: string[]; etag: string }> => {
  const request = app.http.put(`${url}/shifts/${shift.date}/${shift.shift}`);
  if (etag !== undefined) void request.set('If-Match', etag);
  const { status, body } = await request.send(shift.build());
  expect(status).toBe(etag === undefined ? 201 : 200);
  const items = body.openItems as Item[];
  return { doubts: items.flatMap(({ doubt }) => doubt ?? []), etag: body.etag as string };
};

const doubts = async (): Promise<Item[]> =>
  ((await app.http.get(`${url}/open-items`)).body as Item[]).filter(({ kind }) => kind === 'doubt');

const early = () => aShift(DAY, 'day').withStroke(1, '1+200', '1+201.4', '06:00', '06:40', LOADS);
const late = (to: string) => aShift(DAY, 'night').withStroke(1, '1+201.4', to, '18:00', '18:40', LOADS);

it('a stroke bored in two shifts is doubted once, at the shift that ends it', async () => {
  const { etag } = await put(late('1+202.6')); // 1.2 m alone
  expect((await put(early())).doubts).toEqual([]); // 1.4 + 1.2 is more than 2.5, but it ends in the other shift
  expect(await doubts()).toMatchObject([{ doubt: LONGER, date: DAY, shift: 'night', strokeNumber: 1 }]);
  const shorter = await put(late('1+202.5'), etag); // 1.4 + 1.1 is not more
  expect([shorter.doubts, await doubts()]).toEqual([[], []]);
  expect((await put(late('1+202.6'), shorter.etag)).doubts).toEqual([LONGER]);
});
