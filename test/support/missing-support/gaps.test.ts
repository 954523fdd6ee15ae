import fc from 'fast-check';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { itOnce, runs } from '../../harness/sizes.js';

// Support demanded at a spacing, assessed piece by piece.

let app: TestApp;

const put = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(`/v1/projects/P1${path}`).send(body);
  if (status > 201) throw new Error(`${path}: ${status} ${text}`);
};
const read = async (drive: string, path: string) =>
  (await app.http.get(`/v1/projects/P1/drives/${drive}/${path}`)).body;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await put('/ground-classes/A/standard-support', {
    edition: 'drawing 4',
    items: [{ item: 'RIB', zone: 'L1', spacingM: '1.7' }],
  });
});

afterAll(() => app.close());

let drives = 0;

/** A drive of ten strokes of 2 m in class A, with ribs at these driven metres. */
const ribs = async (places: number[], quantity = '1', groundClass = 'A'): Promise<string> => {
  drives += 1;
  const drive = `R${drives}`;
  await aDrive(app, { drive });
  const at = (m: number): string => `1+${(200 + m).toFixed(3)}`;
  const shift = aShift().withGround(groundClass, at(0), at(20));
  for (let n = 0; n < 10; n += 1) {
    const hour = String(6 + n).padStart(2, '0');
    shift.withStroke(n + 1, at(2 * n), at(2 * n + 2), `${hour}:00`, `${hour}:50`);
  }
  for (const place of places)
    shift.withSupport(groundClass === 'A' ? 'RIB' : 'BOLT', at(place), undefined, quantity);
  await put(`/drives/${drive}/shifts/2027-03-01/day`, shift.build());
  return drive;
};

const EVERY = Array.from({ length: 11 }, (_, i) => Number((1.7 * (i + 1)).toFixed(1)));

describe('ribs every 1.70 m against a spacing of 1.70 m', () => {
  itOnce('are not short by a fraction of a rib', async () => {
    const drive = await ribs(EVERY);
    expect((await read(drive, 'support-gaps')).items).toEqual([]);
    // by the metre 20 / 1.7 = 11.765 would be required of the 11
    expect((await read(drive, 'missing-support?lengthM=1000')).items).toMatchObject([
      { required: '11.000', installed: '11.000', missing: '0.000', missingLocal: '0.000', state: 'complete' },
    ]);
    expect((await read(drive, 'unsupported-length')).zones[0]).toMatchObject({
      unsupportedM: '0.000',
      incompleteM: '0.000',
    });
  });

  itOnce('with one left out show the gap, from and to, and one rib missing', async () => {
    const drive = await ribs(EVERY.filter((place) => place !== 8.5));
    const query = `{ drive(project: "P1", drive: "${drive}") { supportGaps { items { item from to lengthM spacingM toleranceM missing due isOpen restsOn } } } }`;
    const gap = {
      item: 'RIB',
      from: '1+206.800',
      to: '1+210.200',
      lengthM: '3.400000',
      spacingM: '1.700',
      toleranceM: '0.000',
      missing: 1,
      due: 1,
      isOpen: false,
      restsOn: 'A noted',
    };
    expect((await app.http.post('/graphql').send({ query })).body.data.drive.supportGaps.items).toEqual([
      gap,
    ]);
    expect((await read(drive, 'support-gaps')).items).toMatchObject([gap]);
    // its last allowed position is 8.5 m: in the interval from 1+208, and in no other
    const { items } = await read(drive, 'missing-support?lengthM=2&state=missing');
    expect(items).toMatchObject([
      { from: '1+208.000', required: '1.000', installed: '0.000', missing: '1.000' },
    ]);
    // the strokes that it touches are incomplete: 6–8, 8–10 and 10–12 m
    expect((await read(drive, 'unsupported-length')).zones[0]).toMatchObject({
      incompleteM: '6.000',
      completeToChainage: '1+206.000',
    });
  });

  itOnce('are not yet due near the face, place by place', async () => {
    const drive = await ribs(EVERY.filter((place) => place < 14)); // the last one at 13.6 m; 15.3, 17.0 and 18.7 m are to come
    const zone = async (limitM: string) => {
      await put(`/drives/${drive}/support-limits`, { limits: [{ zone: 'L1', limitM }] });
      return (await read(drive, 'unsupported-length')).zones[0];
    };
    expect(await zone('4.7')).toMatchObject({ state: 'within', overdueM: '0.000' });
    // 20 − 4.699 = 15.301: the place at 15.3 m lies behind it, and strokes 12–14 and 14–16, which the gap touches, are overdue so far
    expect(await zone('4.699')).toMatchObject({ state: 'exceeded', overdueM: '3.301' });
    expect((await read(drive, 'support-gaps')).items).toMatchObject([
      { from: '1+213.600', to: '1+220.000', missing: 3, due: 1, isOpen: true },
    ]);
    // one more stroke of 1.7 m: 17.001 m
    expect((await read(drive, 'before-next-stroke?strokeLengthM=1.7')).items).toMatchObject([
      { item: 'RIB', from: '1+213.600', to: '1+220.000', missing: '2.000' },
    ]);
  });
});

itOnce(
  'rows of bolts in a sector: each missing bolt counts, and those without a place on the ring do not',
  async () => {
    await put('/ground-classes/B/standard-support', {
      edition: 'drawing 5',
      items: [
        {
          item: 'BOLT',
          zone: 'L1',
          spacingM: '2',
          toleranceM: '0.1',
          piecesPerRow: 3,
          fromDeg: '300',
          toDeg: '60',
        },
      ],
    });
    const drive = await ribs([2, 4, 6, 8, 10, 12, 14, 16, 18], '3', 'B');
    // no arc is given, so nothing counts in the sector. From 0 to 20 m, three chains of ceil(20 / 2.1) − 1 = 9
    expect((await read(drive, 'support-gaps')).items).toMatchObject([
      { missing: 27, piecesWithoutArc: 27, fromDeg: '300.00' },
    ]);
    await app.sql(
      `update support_installed set arc_positions_deg = '{350,0,10}' where drive_id = (select id from drive where code = $1)`,
      [drive],
    );
    expect((await read(drive, 'support-gaps')).items).toEqual([]);
    // one of the three at 8 m is at the side wall: the third bolt back from 8 m is 4 m away
    await app.sql(
      `update support_installed set arc_positions_deg = '{350,0,90}' where from_m = 8 and drive_id = (select id from drive where code = $1)`,
      [drive],
    );
    expect((await read(drive, 'support-gaps')).items).toMatchObject([
      {
        from: '1+206.000',
        to: '1+210.000',
        lengthM: '4.000000',
        missing: 1,
        piecesPerRow: 3,
        piecesWithoutArc: 0,
      },
    ]);
  },
);

itOnce.each([
  [{ spacingM: '1', quantityPerM: '1' }, 'spacingM', /exclude each other/],
  [{ spacingM: '1', tolerancePercent: '5' }, 'tolerancePercent', /a spacing has toleranceM/],
  [{ quantityPerM: '1', piecesPerRow: 2 }, 'piecesPerRow', /goes with spacingM/],
  [{ spacingM: '1', fromDeg: '10' }, 'toDeg', /both fromDeg and toDeg/],
  [{ spacingM: '1', fromDeg: '10', toDeg: '10' }, 'toDeg', /must not end where it begins/],
  [{ item: 'SPRAY', spacingM: '1' }, 'spacingM', /SPRAY is measured in m3: only pieces have a spacing/],
  [{}, 'quantityPerM', /a demand is a quantity per metre, or a spacing/],
])('a requirement of %j is refused', async (demand, name, detail) => {
  const { status, body } = await app.http
    .put('/v1/projects/P1/ground-classes/A/standard-support')
    .send({ edition: 'x', items: [{ item: 'RIB', zone: 'L1', ...demand }] });
  expect([status, body.errors]).toMatchObject([
    422,
    [{ pointer: `/items/0/${name}`, detail: expect.stringMatching(detail) }],
  ]);
});

// A second implementation: every piece by itself, every millimetre of a gap by its own spacing.

interface Stretch {
  fromMm: number;
  toMm: number;
  mostMm: number;
}

const naiveGaps = (stretches: Stretch[], places: number[], k: number): string[] => {
  const found = new Map<string, number>();
  const runsOf = stretches.reduce<Stretch[][]>((all, one) => {
    const last = all.at(-1);
    if (last?.at(-1)?.toMm === one.fromMm) last.push(one);
    else all.push([one]);
    return all;
  }, []);
  for (const run of runsOf) {
    const [from, to] = [run[0]?.fromMm ?? 0, run.at(-1)?.toMm ?? 0];
    const ends = (mm: number) => Array<number>(k).fill(mm);
    const inside = places.filter((mm) => mm >= from && mm < to).sort((a, b) => a - b);
    const all = [...ends(from), ...inside, ...ends(to)];
    for (let i = 0; i + k < all.length; i += 1) {
      const [a, b] = [all[i] ?? 0, all[i + k] ?? 0];
      const touched = run
        .map(({ fromMm, toMm, mostMm }) => ({ part: Math.min(toMm, b) - Math.max(fromMm, a), mostMm }))
        .filter(({ part }) => part > 0);
      if (a === b) continue;
      if (
        b - a <= Math.max(...touched.map(({ mostMm }) => mostMm)) &&
        touched.every(({ part, mostMm }) => part <= mostMm)
      )
        continue;
      // spacings along the gap, as a fraction over the product of all of them
      const whole = touched.reduce((product, { mostMm }) => product * BigInt(mostMm), 1n);
      const sum = touched.reduce(
        (total, { part, mostMm }) => total + BigInt(part) * (whole / BigInt(mostMm)),
        0n,
      );
      const missing = Number((sum + whole - 1n) / whole) - 1;
      found.set(`${a} ${b}`, (found.get(`${a} ${b}`) ?? 0) + Math.max(missing, 1));
    }
  }
  return [...found].map(([gap, missing]) => `${gap} ${missing}`).sort();
};

it('agrees with a second implementation for any pieces and spacings', async () => {
  const stretch = fc.record({
    lengthMm: fc.integer({ min: 1, max: 5000 }),
    mostMm: fc.constantFrom(0, 700, 1000, 1700, 2500),
  });
  await fc.assert(
    fc.asyncProperty(
      fc.array(stretch, { minLength: 1, maxLength: 5 }),
      fc.array(fc.integer({ min: 0, max: 16_000 }), { maxLength: 14 }),
      fc.integer({ min: 1, max: 3 }),
      async (drawn, places, k) => {
        drives += 1;
        const drive = `R${drives}`;
        await aDrive(app, { drive });
        let mm = 0;
        const stretches = drawn.flatMap(({ lengthMm, mostMm }) => {
          const fromMm = mm;
          mm += lengthMm;
          return mostMm === 0 ? [] : [{ fromMm, toMm: mm, mostMm }];
        });
        await put(`/drives/${drive}/shifts/2027-03-01/day`, aShift().build());
        await app.sql(
          `with d as (select id, project_id from drive where code = $1),
           bored as (insert into boring (drive_id, stroke_number, from_m, to_m) select d.id, 1, 0, $3::numeric / 1000 from d),
           section as (insert into design_section (drive_id, name, from_m, to_m, edition)
             select d.id, 'D' || n, (s->>'fromMm')::numeric / 1000, (s->>'toMm')::numeric / 1000, 'x' from d, jsonb_array_elements($2::jsonb) with ordinality s(s, n) returning *),
           demanded as (insert into design_section_item (project_id, design_section_id, support_item_id, unit, zone, spacing_m, spacing_tolerance_m, pieces_per_row)
             select section.project_id, section.id, i.id, i.unit, 'L1', (s->>'mostMm')::numeric / 1000 - 0.1, 0.1, $5
             from jsonb_array_elements($2::jsonb) with ordinality s(s, n) join section on section.name = 'D' || n join support_item i on i.code = 'RIB')
           insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
             select d.id, s.id, n, i.id, i.unit, 'L1', p::numeric / 1000, p::numeric / 1000, 1
             from d join shift s on s.drive_id = d.id, jsonb_array_elements_text($4::jsonb) with ordinality p(p, n), support_item i where i.code = 'RIB'`,
          [drive, JSON.stringify(stretches), mm, JSON.stringify(places), k],
        );
        const rows = await app.sql<{ gap: string }>(
          `select (from_m * 1000)::int || ' ' || (to_m * 1000)::int || ' ' || missing as gap from report.support_gap('P1', $1)`,
          [drive],
        );
        expect(rows.map(({ gap }) => gap).sort()).toEqual(naiveGaps(stretches, places, k));
      },
    ),
    runs(4, 100),
  );
});
