import fc from 'fast-check';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { itOnce, runs } from '../../harness/sizes.js';

// Bolts demanded along × around: rows every 2 m, and around every 1.5 m + 0.1 m from 300° to 60° of a bore of 7 m. By hand: the arc is
// π · 7 · 120 / 360 = 7.330 m, 7.330 / 1.6 = 4.58, so a row has 5 bolts; 24° are π · 7 · 24 / 360 = 1.466 m.

let app: TestApp;

const ok = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(`/v1/projects/P1${path}`).send(body);
  if (status > 201) throw new Error(`${path}: ${status} ${text}`);
};
const read = async (drive: string, path: string) =>
  (await app.http.get(`/v1/projects/P1/drives/${drive}/${path}`)).body;

const DEMAND = { item: 'BOLT', zone: 'L1', spacingM: '2', aroundSpacingM: '1.5', aroundToleranceM: '0.1' };
const SECTOR = { fromDeg: '300', toDeg: '60' };
const SECTOR_READ = { fromDeg: '300.00', toDeg: '60.00', spacingM: '2.000' };

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await ok('/ground-classes/A/standard-support', { edition: 'drawing 4', items: [{ ...DEMAND, ...SECTOR }] });
  await ok('/ground-classes/B/standard-support', { edition: 'drawing 5', items: [DEMAND] });
});

afterAll(() => app.close());

const EVEN = ['312', '336', '0', '24', '48'];
const ROWS = [2, 4, 6, 8, 10];

type More = Parameters<ReturnType<typeof aShift>['withSupport']>[4];

interface Line {
  at: number;
  to?: number;
  quantity: string;
  more?: More;
}

const row = (at: number, arcs: string[]): Line => ({
  at,
  quantity: String(arcs.length),
  more: { arcPositionsDeg: arcs },
});

let drives = 0;

/** A drive of 12 m in six strokes. */
const bolts = async (lines: Line[], groundClass = 'A'): Promise<string> => {
  drives += 1;
  const drive = `D${drives}`;
  await aDrive(app, { drive });
  const at = (m: number): string => `1+${(200 + m).toFixed(3)}`;
  const shift = aShift().withGround(groundClass, at(0), at(12));
  for (let n = 0; n < 6; n += 1) {
    const hour = String(6 + n).padStart(2, '0');
    shift.withStroke(n + 1, at(2 * n), at(2 * n + 2), `${hour}:00`, `${hour}:50`);
  }
  for (const { at: from, to, quantity, more } of lines)
    shift.withSupport('BOLT', at(from), to === undefined ? undefined : at(to), quantity, more);
  await ok(`/drives/${drive}/shifts/2027-03-01/day`, shift.build());
  return drive;
};

itOnce('a row with a spacing of 1.466 m has no gap', async () => {
  const drive = await bolts(ROWS.map((at) => row(at, EVEN)));
  expect((await read(drive, 'support-gaps')).items).toEqual([]);
});

itOnce('a missing bolt shows the row, the sector, the spacing found and the one allowed', async () => {
  // 336° to 24° are 48°: 2.932 m, one short: 2.932 / 1.6 = 1.83
  const drive = await bolts(ROWS.map((at) => row(at, at === 6 ? ['312', '336', '24', '48'] : EVEN)));
  const gap = {
    direction: 'around',
    item: 'BOLT',
    from: '1+206.000',
    to: '1+206.000',
    fromDeg: '300.00',
    toDeg: '60.00',
    gapFromDeg: '336.00',
    gapToDeg: '24.00',
    foundM: '2.932',
    allowedM: '1.600',
    spacingM: '2.000',
    aroundSpacingM: '1.500',
    aroundToleranceM: '0.100',
    piecesPerRow: 5,
    missing: 1,
    due: 1,
    isOpen: false,
    restsOn: 'A noted',
  };
  expect((await read(drive, 'support-gaps')).items).toMatchObject([gap]);
  const query = `{ drive(project: "P1", drive: "${drive}") { supportGaps { items { ${Object.keys(gap).join(' ')} } } } }`;
  expect((await app.http.post('/graphql').send({ query })).body.data.drive.supportGaps.items).toEqual([gap]);
  // five rows of five, less one: one is missing
  expect((await read(drive, 'missing-support?lengthM=1000')).items).toMatchObject([
    { required: '25.000', installed: '24.000', missing: '1.000' },
  ]);
  expect((await read(drive, 'missing-support?lengthM=2&state=missing')).items).toMatchObject([
    { from: '1+206.000' },
  ]);
  // the row at 6 m lies in the stroke from 6 to 8 m
  expect((await read(drive, 'unsupported-length')).zones[0]).toMatchObject({
    incompleteM: '2.000',
    completeToChainage: '1+206.000',
  });
});

itOnce(
  'counts a bolt missing at the end of the sector, half a spacing from it, unless there is one beyond',
  async () => {
    // from 300° to 336° are 2.199 m, 0.8 allowed: 2.199 / 1.6 − 0.5 = 0.87, one short
    const bare = await bolts(ROWS.map((at) => row(at, at === 4 ? ['336', '0', '24', '48'] : EVEN)));
    expect((await read(bare, 'support-gaps')).items).toMatchObject([
      {
        from: '1+204.000',
        gapFromDeg: '300.00',
        gapToDeg: '336.00',
        foundM: '2.199',
        allowedM: '0.800',
        missing: 1,
      },
    ]);
    // a bolt at 290° stands 46° from that at 336°, 2.810 m: still one short; one at 310.1° less than 1.6 m
    const beyond = async (arc: string) => {
      const drive = await bolts(ROWS.map((at) => row(at, at === 4 ? [arc, '324', '348', '12', '36'] : EVEN)));
      return (await read(drive, 'support-gaps')).items;
    };
    // 300° to 324° are 1.466 m, more than 0.8; from 298.5° it is 25.5°, 1.558 m; from 36° to 60° it is 1.466 m again
    expect(await beyond('298.5')).toMatchObject([{ gapFromDeg: '36.00', gapToDeg: '60.00', missing: 1 }]);
  },
);

itOnce(
  'counts what is known to be missing, also where a piece of the row has no place of its own',
  async () => {
    // 312° to 347° and 347° to 22° are 35° each: 2.138 m, one short each. One more bolt has only an arc, 35° to 60°: at 47.5°, close enough
    const placed = row(6, ['312', '347', '22']);
    const onArc: Line = { at: 6, quantity: '1', more: { arcFromDeg: '35', arcToDeg: '60' } };
    const drive = await bolts([...ROWS.filter((at) => at !== 6).map((at) => row(at, EVEN)), placed, onArc]);
    expect((await read(drive, 'support-gaps')).items).toMatchObject([
      { gapFromDeg: '312.00', gapToDeg: '347.00', foundM: '2.138', missing: 1 },
      { gapFromDeg: '347.00', gapToDeg: '22.00', foundM: '2.138', missing: 1 },
    ]);
  },
);

itOnce('compares numbers where no place on the ring is given', async () => {
  // 7.330 / 5 = 1.466 m; 7.330 / 4 = 1.833 m and five are needed
  const drive = await bolts(ROWS.map((at) => ({ at, quantity: at === 8 ? '4' : '5' })));
  expect((await read(drive, 'support-gaps')).items).toMatchObject([
    { from: '1+208.000', foundM: '1.833', allowedM: '1.600', missing: 1, piecesWithoutArc: 4 },
  ]);
  // two lines at one place are one row: 2 + 3
  const parted = await bolts(
    ROWS.flatMap((at) => [
      { at, quantity: '2' },
      { at, quantity: '3' },
    ]),
  );
  expect((await read(parted, 'support-gaps')).items).toEqual([]);
});

itOnce('reads a line over an interval as the fewest rows that the spacing allows', async () => {
  // 11 m: six rows of 1.833 m; 30 pieces are five in each, 28 are two short
  const whole = await bolts([{ at: 0.5, to: 11.5, quantity: '30' }]);
  expect((await read(whole, 'support-gaps')).items).toEqual([]);
  const short = await bolts([{ at: 0.5, to: 11.5, quantity: '28' }]);
  const { items } = await read(short, 'support-gaps');
  expect(items.map(({ missing }: { missing: number }) => missing)).toEqual([1, 1]);
});

itOnce('closes the ring, and counts a missing row by what its arc needs', async () => {
  // 21.991 m / 1.6 = 13.74: 14 in a row; 13 along the arc of the line lack one, 21.991 / 13 = 1.692 m
  const ring: More = { arcFromDeg: '0', arcToDeg: '360' };
  const drive = await bolts(
    [2, 4, 6, 10].map((at) => ({ at, quantity: at === 4 ? '13' : '14', more: ring })),
    'B',
  );
  expect((await read(drive, 'support-gaps')).items).toMatchObject([
    { direction: 'around', from: '1+204.000', foundM: '1.692', missing: 1, piecesPerRow: 14 },
    {
      direction: 'along',
      from: '1+206.000',
      to: '1+210.000',
      foundM: '4.000000',
      allowedM: '2.000',
      missing: 14,
    },
  ]);
});

itOnce('a row slightly out of line is one row, and staggered rows of six and five are complete', async () => {
  // 120° in sixths: 20° are 1.222 m; in the rows of five, half a spacing is left at each end
  const drive = await bolts([
    row(2, ['300', '320', '340', '0', '20', '40', '60']),
    row(4, ['310', '330', '350', '10', '30', '50']),
    {
      at: 5.8,
      to: 6.3,
      quantity: '5',
      more: { positions: [5.8, 5.9, 6, 6.1, 6.2].map((m) => `1+20${m}`), arcPositionsDeg: EVEN },
    },
    row(7.8, EVEN),
    row(9.8, EVEN),
    row(11.8, EVEN),
  ]);
  expect((await read(drive, 'support-gaps')).items).toEqual([]);
});

itOnce.each([
  [{ ...DEMAND, piecesPerRow: 5 }, 'piecesPerRow', /exclude each other/],
  [
    { item: 'BOLT', zone: 'L1', spacingM: '2', aroundToleranceM: '0.1' },
    'aroundToleranceM',
    /goes with aroundSpacingM/,
  ],
  [
    { item: 'BOLT', zone: 'L1', quantityPerM: '2', aroundSpacingM: '1' },
    'aroundSpacingM',
    /goes with spacingM/,
  ],
])('a requirement of %j is refused', async (demand, name, detail) => {
  const { status, body } = await app.http
    .put('/v1/projects/P1/ground-classes/A/standard-support')
    .send({ edition: 'x', items: [demand] });
  expect([status, body.errors]).toMatchObject([
    422,
    [{ pointer: `/items/0/${name}`, detail: expect.stringMatching(detail) }],
  ]);
});

itOnce('reads back as it was put, by class and along the drive', async () => {
  const { body } = await app.http.get('/v1/projects/P1/ground-classes/A/standard-support');
  expect(body).toMatchObject({
    items: [{ ...SECTOR_READ, aroundSpacingM: '1.500', aroundToleranceM: '0.100' }],
  });
  const drive = await bolts(ROWS.map((at) => row(at, EVEN)));
  expect((await read(drive, 'required-support')).items).toMatchObject([
    { demanded: [{ ...SECTOR_READ, aroundSpacingM: '1.500', aroundToleranceM: '0.100' }] },
  ]);
});

// A second implementation: pieces are added to each distance, one at a time, until none is too long; those that may be anywhere are then deducted,
// each where it leaves the smallest distance.

interface Ring {
  from: number;
  /** 360: the ring [°] */
  arc: number;
  mostMm: number;
}

const naiveRow = (arcs: number[], unplaced: number, { from, arc, mostMm }: Ring): number[] => {
  const mm = (deg: number): number => (deg / 360) * Math.PI * 7000;
  const turned = arcs.map((deg) => (deg - from + 360) % 360);
  const inside = turned.filter((deg) => deg <= arc).sort((a, b) => a - b);
  const [first] = inside;
  const beyond = turned.filter((deg) => deg > arc);
  const distances: number[] = [];
  let places = inside.map(mm);
  if (arc === 360 && first !== undefined) places = [...places, mm(first + 360)];
  else {
    const before = Math.min(mostMm / 2, ...beyond.map((deg) => mm(360 - deg)));
    const after = Math.min(mostMm / 2, ...beyond.map((deg) => mm(deg - arc)));
    places = [-before, ...places, mm(arc) + after];
  }
  for (const [index, place] of places.slice(1).entries()) distances.push(place - (places[index] ?? 0));
  const lacking = distances
    .sort((a, b) => b - a)
    .map((distance) => {
      let pieces = 0;
      while (distance / (pieces + 1) > mostMm * 1.000001) pieces += 1;
      return pieces;
    });
  for (let left = unplaced; left > 0; left -= 1) {
    const last = lacking.findLastIndex((pieces) => pieces > 0);
    if (last >= 0) lacking[last] = (lacking[last] ?? 0) - 1;
  }
  return lacking.filter((pieces) => pieces > 0).sort((a, b) => b - a);
};

it('agrees with a second implementation for any pieces of any rows', async () => {
  const piece = fc.option(fc.integer({ min: 0, max: 35_999 }), { freq: 5 });
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.array(piece, { minLength: 1, maxLength: 16 }), { minLength: 1, maxLength: 6 }),
      fc.record({
        from: fc.integer({ min: 0, max: 359 }),
        arc: fc.oneof(fc.constant(360), fc.integer({ min: 5, max: 355 })),
        mostMm: fc.integer({ min: 300, max: 4000 }),
      }),
      async (rows, drawn) => {
        drives += 1;
        const drive = `D${drives}`;
        const ring = drawn.arc === 360 ? { ...drawn, from: 0 } : drawn;
        await aDrive(app, { drive });
        await ok(`/drives/${drive}/shifts/2027-03-01/day`, aShift().build());
        const sector = ring.arc === 360 ? [null, null] : [ring.from, (ring.from + ring.arc) % 360];
        const lines = rows.flatMap((pieces, index) =>
          pieces.map((hundredths) => ({
            at: 1 + 2 * index,
            arc: hundredths === null ? null : hundredths / 100,
          })),
        );
        await app.sql(
          `with d as (select id, project_id from drive where code = $1),
           bored as (insert into boring (drive_id, stroke_number, from_m, to_m) select d.id, 1, 0, 14 from d),
           section as (insert into design_section (drive_id, name, from_m, to_m, edition) select d.id, 'D', 0, 14, 'x' from d returning *),
           demanded as (insert into design_section_item (project_id, design_section_id, support_item_id, unit, zone, spacing_m, spacing_tolerance_m, around_spacing_m,
               around_tolerance_m, from_deg, to_deg)
             select s.project_id, s.id, i.id, i.unit, 'L1', 2, 0, $2::numeric / 1000 - 0.1, 0.1, $3::numeric, $4::numeric from section s join support_item i on i.code = 'BOLT')
           insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity, arc_positions_deg)
             select d.id, s.id, n, i.id, i.unit, 'L1', (p->>'at')::numeric, (p->>'at')::numeric, 1, case when p->>'arc' is not null then array[(p->>'arc')::numeric] end
             from d join shift s on s.drive_id = d.id, jsonb_array_elements($5::jsonb) with ordinality p(p, n), support_item i where i.code = 'BOLT'`,
          [drive, ring.mostMm, ...sector, JSON.stringify(lines)],
        );
        const found = await app.sql<{ at: number; missing: number }>(
          `select from_m::float8 as at, missing from report.support_gap('P1', $1) where direction = 'around' order by 1, 2 desc`,
          [drive],
        );
        const expected = rows.flatMap((pieces, index) => {
          const arcs = pieces.flatMap((hundredths) => (hundredths === null ? [] : [hundredths / 100]));
          const unplaced = pieces.length - arcs.length;
          const isOut = arcs.every((deg) => (deg - ring.from + 360) % 360 > ring.arc);
          if (isOut && unplaced === 0) return []; // no row in the sector: counted by the distance along
          return naiveRow(arcs, unplaced, ring).map((missing) => ({ at: 1 + 2 * index, missing }));
        });
        expect(found).toEqual(expected);
      },
    ),
    runs(4, 200),
  );
});
