import fc from 'fast-check';
import { app, drive, ownDrives, toDrive, url } from '../../harness/own-drives.js';
import { runs } from '../../harness/sizes.js';
import { type NaiveHole, naiveCover, type NaiveRequirement } from './naive.js';
import { ask, bore, type Body, cover } from './site.js';

// Random holes and requirements: against the second implementation, and with fewer holes the face may never advance further.
// Drives of 40 m, in either direction; the face at 3 m. Holes along the axis, so that lengths are reaches, in tenths of a metre.

ownDrives('PN');

const LENGTH = 40_000;
const FACE = 3000;
/** Beyond the reach of every hole. */
const MOST = 80_000;

const tenths = (least: number, most: number) =>
  fc.integer({ min: least, max: most }).map((each) => each * 100);
const orNull = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: null, freq: 5 });

const holes = fc.array(
  fc.record({
    collar: tenths(0, 120),
    length: tenths(1, 300),
    planned: orNull(tenths(100, 300)),
    givenUp: fc.boolean(),
    position: orNull(fc.integer({ min: 0, max: 36 }).map((each) => each * 10)),
    hasTime: fc.integer({ min: 0, max: 9 }).map((each) => each > 0),
    lookOut: fc.constantFrom(0, 0, 0, 0, 0, 0, 13),
  }),
  { maxLength: 9 },
);

const clock = fc.integer({ min: 0, max: 36 }).map((each) => each * 10);
const asked = fc.record({
  holes: fc.integer({ min: 0, max: 3 }),
  sectors: fc.array(fc.tuple(clock, clock), { maxLength: 2 }),
  overlap: tenths(0, 80),
  least: orNull(tenths(1, 200)),
});

/** Consecutive lengths with or without gaps, and what applies elsewhere. */
const requirements = fc
  .tuple(
    fc.uniqueArray(tenths(0, 400), { maxLength: 6 }),
    fc.array(asked, { minLength: 4, maxLength: 4 }),
    fc.boolean(),
  )
  .map(([ends, all, elsewhere]): NaiveRequirement[] => {
    const along = ends.toSorted((one, other) => one - other);
    const spans = Array.from({ length: Math.floor(along.length / 2) }, (_, at): [number, number] => [
      along[2 * at] ?? 0,
      along[2 * at + 1] ?? 0,
    ]);
    return [...spans, ...(elsewhere || spans.length === 0 ? [null] : [])].map((span, at) => {
      const { sectors, holes, ...rest } = all[at] as Omit<NaiveRequirement, 'span'>;
      return { ...rest, span, sectors, holes: Math.max(holes, sectors.length) };
    });
  });

const metres = (mm: number): string => (mm / 1000).toFixed(3);

describe.each([1, -1] as const)('with direction %d', (direction) => {
  const at = (mm: number): string => metres(1_200_000 + direction * mm);

  beforeEach(async () => {
    const [startChainage, endChainage] = [at(0), at(LENGTH)];
    await toDrive(`${drive}R`, { startChainage, endChainage, direction });
    await bore(at(0), at(FACE));
  });

  const body = ({ collar, length, planned, givenUp, position, hasTime, lookOut }: NaiveHole): Body => ({
    collar: at(collar),
    lengthM: metres(length),
    plannedLengthM: planned === null ? null : metres(planned),
    state: givenUp ? 'abandoned' : 'drilled',
    positionDeg: position,
    lookOutDeg: lookOut,
    drilledAt: hasTime ? '2021-03-01T05:00:00Z' : null,
  });
  const put = async (name: string, hole: NaiveHole): Promise<void> => {
    const { status, text } = await app.http.put(`${url}/probe-holes/${name}`).send(body(hole));
    if (status >= 300) throw new Error(text);
  };
  const withReach = (hole: Omit<NaiveHole, 'reach'>): NaiveHole => ({
    ...hole,
    reach: hole.collar + Math.round(hole.length * Math.cos((hole.lookOut * Math.PI) / 180)),
  });
  const clear = () =>
    app.sql(`delete from probe_hole where drive_id = (select id from drive where code = '${drive}')`);
  const setUp = async (drilled: NaiveHole[], required: NaiveRequirement[]): Promise<void> => {
    await clear();
    for (const [index, hole] of drilled.entries()) await put(`H${index}`, hole);
    await ask(
      required.map(({ span, holes, sectors, overlap, least }, index) => ({
        name: `R${index}`,
        ...(span && { from: at(span[0]), to: at(span[1]) }),
        holeCount: holes,
        sectors: sectors.map(([fromDeg, toDeg]) => ({ fromDeg, toDeg })),
        overlapM: metres(overlap),
        leastLengthM: least === null ? null : metres(least),
      })),
    );
  };
  const permitted = async (): Promise<number> => Math.round(Number((await cover()).permittedM) * 1000);

  it('agrees with the second implementation', async () => {
    await fc.assert(
      fc.asyncProperty(holes, requirements, async (given, required) => {
        const drilled = given.map(withReach);
        await setUp(drilled, required);
        const naive = naiveCover({ face: FACE, end: LENGTH, holes: drilled, requirements: required }, MOST);
        const answer = await cover();
        expect([answer.permittedM, answer.coverM]).toEqual([
          metres(naive.permitted),
          // unlimited cover is reported to the end of the drive
          metres(naive.cover === MOST - FACE ? LENGTH - FACE : naive.cover),
        ]);
      }),
      runs(4, 400),
    );
  });

  it('never allows the face further with a hole removed or shortened', async () => {
    await fc.assert(
      fc.asyncProperty(holes, requirements, fc.nat(), fc.nat(), async (given, required, which, by) => {
        fc.pre(given.length > 0);
        const drilled = given.map(withReach);
        await setUp(drilled, required);
        const before = await permitted();
        const index = which % drilled.length;
        const hole = drilled[index] as NaiveHole;
        const length = hole.length - 100 * (by % (hole.length / 100));
        await put(`H${index}`, withReach({ ...hole, length }));
        const shorter = await permitted();
        expect(shorter).toBeLessThanOrEqual(before);
        await app.http.delete(`${url}/probe-holes/H${index}`);
        expect(await permitted()).toBeLessThanOrEqual(shorter);
      }),
      runs(3, 300),
    );
  });
});
