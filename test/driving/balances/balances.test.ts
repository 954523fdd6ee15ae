import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { aDrive, aProject } from '../../builders/project.js';
import { ShiftBuilder } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { type Figures, figures, LENGTH_MM, mayStand, type NaiveShift } from './naive-record.js';
import { legalShifts, postings } from './sequences.js';
import { runs } from '../../harness/sizes.js';

// Two of the balances against a naive model (naive-record.ts), by the REST API on PostgreSQL.

const FIRST = Date.parse('2027-03-01T00:00:00Z');
const date = (day: number): string => new Date(FIRST + day * 86_400_000).toISOString().slice(0, 10);
const time = (halfHours: number): string => new Date(FIRST + halfHours * 1_800_000).toISOString();

let app: TestApp;
let drives = 0;

beforeAll(async () => {
  app = await startApp();
  await aProject(app, { dayStart: '00:00' });
});

afterAll(() => app.close());

type Direction = 1 | -1;

interface Drive {
  url: string;
  chainage(mm: number): string;
}

const newDrive = async (direction: Direction): Promise<Drive> => {
  drives += 1;
  const start = 5_000_000;
  const end = start + direction * LENGTH_MM;
  const drive = `D${drives}`;
  await aDrive(app, {
    drive,
    startChainage: formatChainage(start),
    endChainage: formatChainage(end),
    direction,
  });
  return { url: `/v1/projects/P1/drives/${drive}`, chainage: (mm) => formatChainage(start + direction * mm) };
};

const addressOf = ({ slot }: NaiveShift): string =>
  `${date(Math.floor(slot / 2))}/${slot % 2 === 0 ? 'day' : 'night'}`;

const documentOf = (shift: NaiveShift, { chainage }: Drive): object => {
  const built = new ShiftBuilder('2027-03-01', 'day');
  if (shift.submitted) built.submitted();
  for (const { number, from, to, start, end } of shift.borings)
    built.withStroke(number, chainage(from), chainage(to), '00:00', '00:00', {
      startedAt: time(start),
      endedAt: time(end),
    });
  const activities = shift.activities.map(({ code, start, end }) => ({
    code,
    startedAt: time(start),
    endedAt: time(end),
  }));
  return { ...built.build(), activities };
};

const post = async (drive: Drive, shift: NaiveShift) => {
  const url = `${drive.url}/shifts/${addressOf(shift)}`;
  const { headers } = await app.http.get(url);
  const request = app.http.put(url);
  if (typeof headers.etag === 'string') void request.set('If-Match', headers.etag);
  return request.send(documentOf(shift, drive));
};

const millimetres = (metres: string): number => Math.round(Number(metres) * 1000);

/** The same figures, read from the reports. */
const reported = async ({ url }: Drive): Promise<Figures> => {
  const read = async <T>(path: string): Promise<T> => (await app.http.get(`${url}/${path}`)).body as T;
  const progress = await read<Record<'faceM' | 'boredM' | 'missingM', string>>('progress');
  const shifts = await read<{ date: string; shift: string; advanceM: string }[]>('advance/shifts');
  const days = await read<{ productionDay: string; advanceM: string }[]>('advance/days');
  const open = await read<{ kind: string; missingMinutes: string; missingM: string }[]>('open-items');
  const day = (name: string): number => (Date.parse(name) - FIRST) / 86_400_000;
  const missing = open
    .filter(({ kind }) => kind === 'metres_missing')
    .map(({ missingM }) => millimetres(missingM));
  expect(missing.reduce((a, b) => a + b, 0)).toBe(millimetres(progress.missingM));
  return {
    faceMm: millimetres(progress.faceM),
    boredMm: millimetres(progress.boredM),
    missingMm: millimetres(progress.missingM),
    missingMinutes: open
      .filter(({ kind }) => kind === 'minutes_missing')
      .reduce((total, item) => total + Number(item.missingMinutes), 0),
    shifts: Object.fromEntries(
      shifts.map((s) => [day(s.date) * 2 + (s.shift === 'day' ? 0 : 1), millimetres(s.advanceM)]),
    ),
    days: Object.fromEntries(
      days.filter((d) => Number(d.advanceM) > 0).map((d) => [day(d.productionDay), millimetres(d.advanceM)]),
    ),
  };
};

const direction = fc.constantFrom<Direction>(1, -1);

describe('shifts posted in any order, valid and invalid', () => {
  it('are accepted when valid and refused when not; the reports show what was accepted', async () => {
    await fc.assert(
      fc.asyncProperty(direction, postings, async (way, shifts) => {
        const drive = await newDrive(way);
        const standing = new Map<number, NaiveShift>();
        for (const shift of shifts) {
          const others = [...standing.values()].filter(({ slot }) => slot !== shift.slot);
          const sound = mayStand([...others, shift]);
          const [first, again] = [await post(drive, shift), await post(drive, shift)];
          if (sound) {
            expect([200, 201]).toContain(first.status);
            expect(again.body).toMatchObject({ outcome: 'unchanged' });
          } else
            expect(
              [409, 422].filter((status) => status === first.status && status === again.status),
            ).toHaveLength(1);
          if (sound) standing.set(shift.slot, shift);
        }
        expect(await reported(drive)).toEqual(figures([...standing.values()]));
      }),
      runs(3, 60),
    );
  });
});

describe('the shifts of a whole drive', () => {
  it('are all accepted in the end, in any order of arrival, and leave nothing open', async () => {
    const shuffled = legalShifts.chain((shifts) =>
      fc.tuple(fc.constant(shifts), fc.shuffledSubarray(shifts, { minLength: shifts.length })),
    );
    await fc.assert(
      fc.asyncProperty(direction, shuffled, async (way, [shifts, order]) => {
        const drive = await newDrive(way);
        let waiting = order;
        // A submitted shift is refused until the metres behind it are posted, so it is sent again after the others.
        for (let round = 0; round <= shifts.length && waiting.length > 0; round += 1) {
          const refused: NaiveShift[] = [];
          for (const shift of waiting) if ((await post(drive, shift)).status >= 400) refused.push(shift);
          waiting = refused;
        }
        expect(waiting).toEqual([]);
        const all = await reported(drive);
        expect(all).toEqual(figures(shifts));
        expect([all.missingMm, all.missingMinutes]).toEqual([0, 0]);
      }),
      runs(2, 25),
    );
  });
});
