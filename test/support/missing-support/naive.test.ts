import fc from 'fast-check';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { type Demand, faceOf, NaiveSupport, type Total, type World, ZONES } from './naive-support.js';
import { runs } from '../../harness/sizes.js';

// Random standards, sections, limits, strokes and lines, against a second implementation that checks every millimetre.

const LENGTH_MM = 12_000;
const START_MM = 1_203_337; // round chainages lie within
const ITEMS = ['BOLT', 'MESH', 'SPRAY'];

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.sql(
    `insert into ground_class (project_id, code, description) select id, 'C', 'Poor' from project`,
  );
});

afterAll(() => app.close());

const item = fc.constantFrom(...ITEMS);
const zone = fc.constantFrom(...ZONES);
const demands: fc.Arbitrary<Demand[]> = fc.uniqueArray(
  fc.record({
    item,
    zone,
    perM: fc.oneof(fc.integer({ min: 1, max: 5_000_000 }), fc.constantFrom(1_000_000, 2_000_000)),
    tolerance: fc.constantFrom(0, 0, 500, 3333, 9999),
  }),
  { maxLength: 4, selector: (demand) => demand.item + demand.zone },
);

/** Non-overlapping intervals between cuts within a length. */
const intervals = <T>(
  of: fc.Arbitrary<T>,
  most: number,
  reachMm: number,
): fc.Arbitrary<({ fromMm: number; toMm: number } & T)[]> =>
  fc
    .tuple(
      fc.uniqueArray(fc.integer({ min: 0, max: reachMm }), { maxLength: most }),
      fc.array(fc.option(of, { nil: undefined, freq: 4 }), { minLength: most, maxLength: most }),
    )
    .map(([places, values]) => {
      const cuts = places.toSorted((a, b) => a - b);
      return cuts.slice(1).flatMap((toMm, index) => {
        const value = values[index];
        return value === undefined ? [] : [{ fromMm: cuts[index] ?? 0, toMm, ...value }];
      });
    });

/** Within the given reach, which is short if ends of strokes, classes, limits and lines should coincide. */
const worldOf = (reachMm: number): fc.Arbitrary<World> =>
  fc.record({
    lengthMm: fc.constant(LENGTH_MM),
    strokes: fc
      .array(
        fc.tuple(fc.integer({ min: 1, max: reachMm / 6 }), fc.constantFrom(0, 0, 0, Math.ceil(reachMm / 17))),
        { maxLength: 6 },
      )
      .map((lengths) => {
        let face = 0;
        return lengths.map(([length, gap]): [number, number] => {
          const from = Math.min(face + gap, LENGTH_MM - 1);
          face = Math.min(from + length, LENGTH_MM);
          return [from, face];
        });
      })
      .filter((strokes) =>
        strokes.every(([from, to], index) => from < to && from >= (strokes[index - 1]?.[1] ?? 0)),
      ),
    classes: intervals(fc.record({ code: fc.constantFrom('A', 'B', 'C') }), 8, reachMm),
    decisions: intervals(
      fc.record({
        code: fc.constantFrom('A', 'B', 'C'),
        state: fc.constantFrom('proposed', 'agreed', 'disputed', 'withdrawn'),
      }),
      5,
      reachMm,
    ),
    former: fc.array(
      fc
        .record({
          code: fc.constantFrom('A', 'B', 'C'),
          fromMm: fc.integer({ min: 0, max: reachMm - 1 }),
          lengthMm: fc.integer({ min: 1, max: Math.ceil(reachMm * 0.4) }),
        })
        .map(({ code, fromMm, lengthMm }) => ({
          code,
          fromMm,
          toMm: Math.min(fromMm + lengthMm, LENGTH_MM),
        })),
      { maxLength: 4 },
    ),
    sections: intervals(fc.record({ demands }), 3, reachMm).map((list) =>
      list.map((section, index) => ({ ...section, name: `D${index}` })),
    ),
    standards: fc.record({ A: demands, B: demands }),
    limitsMm: fc.record(
      {
        L1: fc.integer({ min: 0, max: Math.ceil(reachMm * 0.4) }),
        L2: fc.integer({ min: 0, max: Math.ceil(reachMm * 1.2) }),
      },
      { requiredKeys: [] },
    ),
    lines: fc.array(
      fc
        .record({
          item,
          zone,
          fromMm: fc.integer({ min: 0, max: reachMm }),
          lengthMm: fc.oneof(fc.constant(0), fc.integer({ min: 1, max: reachMm / 2 })),
          quantity: fc.integer({ min: 1, max: 9000 }),
        })
        .map(({ lengthMm, ...line }) => ({
          ...line,
          toMm: Math.min(line.fromMm + lengthMm, LENGTH_MM),
          quantity: line.item === 'BOLT' ? 1000 * Math.ceil(line.quantity / 1000) : line.quantity,
        })),
      { maxLength: 14 },
    ),
  });

/** Half of them in the first 24 mm of the drive. */
const world = fc.oneof(worldOf(LENGTH_MM), worldOf(24));

const metres = (mm: number): number => mm / 1000;

/** Puts the world into the record, bypassing the API. */
const put = async (drive: string, { standards, ...given }: World): Promise<void> => {
  const json = JSON.stringify({ ...given, limits: Object.entries(given.limitsMm) });
  await app.sql(`delete from standard_support`);
  for (const [code, list] of Object.entries(standards)) {
    await app.sql(
      `with s as (insert into standard_support (project_id, ground_class_id, edition) select project_id, id, 'x' from ground_class where code = $1 returning *)
       insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m, tolerance_percent)
       select s.project_id, s.id, i.id, i.unit, (d->>'zone'), (d->>'perM')::numeric / 1000000, (d->>'tolerance')::numeric / 100
       from s, jsonb_array_elements($2::jsonb) d join support_item i on i.code = d->>'item'`,
      [code, JSON.stringify(list)],
    );
  }
  await app.sql(
    `with d as (select id, project_id from drive where code = $1), g as (select $2::jsonb as j),
     shift as (insert into shift (drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
       select d.id, '2027-03-01', c.id, '2027-03-01 06:00Z', '2027-03-01 18:00Z', 'draft', 'x' from d, calendar_shift c where c.name = 'day' returning *),
     bored as (insert into boring (drive_id, stroke_number, from_m, to_m)
       select d.id, n, (b->>0)::numeric / 1000, (b->>1)::numeric / 1000 from d, g, jsonb_array_elements(j->'strokes') with ordinality b(b, n)),
     noted as (insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id)
       select d.id, shift.id, (n->>'fromMm')::numeric / 1000, (n->>'toMm')::numeric / 1000, c.id from d, g, shift, jsonb_array_elements(j->'classes') n
       join ground_class c on c.code = n->>'code'),
     limited as (insert into drive_support_limit (drive_id, zone, limit_m)
       select d.id, (l->>0), (l->>1)::numeric / 1000 from d, g, jsonb_array_elements(j->'limits') l),
     section as (insert into design_section (drive_id, name, from_m, to_m, edition)
       select d.id, s->>'name', (s->>'fromMm')::numeric / 1000, (s->>'toMm')::numeric / 1000, 'x' from d, g, jsonb_array_elements(j->'sections') s returning *),
     demanded as (insert into design_section_item (project_id, design_section_id, support_item_id, unit, zone, quantity_per_m, tolerance_percent)
       select section.project_id, section.id, i.id, i.unit, (e->>'zone'), (e->>'perM')::numeric / 1000000, (e->>'tolerance')::numeric / 100
       from g, jsonb_array_elements(j->'sections') s join section on section.name = s->>'name', jsonb_array_elements(s->'demands') e join support_item i on i.code = e->>'item')
     insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
       select d.id, shift.id, n, i.id, i.unit, (l->>'zone'), (l->>'fromMm')::numeric / 1000, (l->>'toMm')::numeric / 1000, (l->>'quantity')::numeric / 1000
       from d, g, shift, jsonb_array_elements(j->'lines') with ordinality l(l, n) join support_item i on i.code = l->>'item'`,
    [drive, json],
  );
  // bypasses the trigger that enforces the life cycle with two people
  await app.sql(`set session_replication_role = replica`);
  await app.sql(
    `insert into class_decision (drive_id, project_id, number, from_m, to_m, ground_class_id, state, contractor_representative, employer_representative,
       proposed_by, agreed_by, agreed_at, disputed_by, disputed_at, dispute_reason, withdrawn_by, withdrawn_at, withdrawal_reason)
     select d.id, d.project_id, n, (e->>'fromMm')::numeric / 1000, (e->>'toMm')::numeric / 1000, c.id, s.state::class_decision_state, 'C', 'E', 'gina',
       case s.state when 'agreed' then 'b' end, case s.state when 'agreed' then now() end,
       case s.state when 'disputed' then 'b' end, case s.state when 'disputed' then now() end, case s.state when 'disputed' then 'x' end,
       case s.state when 'withdrawn' then 'b' end, case s.state when 'withdrawn' then now() end, case s.state when 'withdrawn' then 'x' end
     from drive d, jsonb_array_elements($2::jsonb->'decisions') with ordinality e(e, n) join ground_class c on c.code = e->>'code'
     cross join lateral (select e->>'state' as state) s where d.code = $1`,
    [drive, json],
  );
  await app.sql(
    `insert into class_decision (drive_id, project_id, number, from_m, to_m, ground_class_id, state, contractor_representative, employer_representative,
       proposed_by, agreed_by, agreed_at, withdrawn_by, withdrawn_at, withdrawal_reason)
     select d.id, d.project_id, 100 + n, (e->>'fromMm')::numeric / 1000, (e->>'toMm')::numeric / 1000, c.id, 'withdrawn', 'C', 'E', 'gina',
       'b', timestamptz '2027-03-01' + n * interval '1 day', 'b', now(), 'x'
     from drive d, jsonb_array_elements($2::jsonb->'former') with ordinality e(e, n) join ground_class c on c.code = e->>'code' where d.code = $1`,
    [drive, json],
  );
  await app.sql(`set session_replication_role = origin`);
};

type Row = Record<string, string>;

const scaled = (text = '', decimals: number): bigint => {
  const [, sign, whole = '0', part = ''] = /^(-?)(\d+)\.?(\d*)$/.exec(text) ?? [];
  return BigInt(`${sign}${whole}${part.padEnd(decimals, '0').slice(0, decimals)}`);
};

const billionths = (text?: string): bigint => scaled(text, 9);

const MISSING = `select from_m::text, to_m::text, coalesce(item_code, '-') as item, coalesce(zone, '-') as zone, part, length_m::text, required::text, installed::text,
  difference::text, missing_raw::text, surplus::text, tolerated::text, missing::text, missing_local::text, state from report.missing_support_between($1, $2, $3, $4, $5)`;

const stateOf = (part: string, { required, installed }: Total, local: bigint): string => {
  if (part === 'not_assessed' || part === 'ahead_of_face') return part;
  if (local > 0n) return part === 'due' ? 'missing' : 'not_yet_due';
  if (required === 0n) return 'not_required';
  return required <= installed ? 'complete' : 'within_tolerance';
};

const asked = async (drive: string, from: number, to: number, intervalM: number | null): Promise<Row[]> =>
  app.sql<Row>(MISSING, ['P1', drive, metres(from), metres(to), intervalM]);

/** The rows of the database, each checked for consistency, by the key of the second implementation. */
const byKey = (rows: Row[], cellOf: (mm: number) => number): Map<string, unknown> =>
  new Map(
    rows.map((row) => {
      const total = {
        length: Number(scaled(row['length_m'], 3)),
        required: billionths(row['required']),
        tolerated: scaled(row['tolerated'], 13),
        installed: billionths(row['installed']),
      };
      const [raw, surplus] = [billionths(row['missing_raw']), billionths(row['surplus'])];
      expect(total.required + surplus - raw).toBe(total.installed);
      expect(billionths(row['difference'])).toBe(total.installed - total.required);
      expect(raw * surplus).toBe(0n);
      const local = billionths(row['missing_local']);
      expect(row['state']).toBe(stateOf(row['part'] ?? '', total, local));
      expect(billionths(row['missing'])).toBe(row['part'] === 'due' ? local : 0n);
      const cell = cellOf(Number(scaled(row['from_m'], 3)));
      return [`${cell} ${row['part']} ${row['zone']} ${row['item']}`, total];
    }),
  );

/** Where the database reports shortfalls of strokes, by the same key. */
const localOf = (rows: Row[], cellOf: (mm: number) => number): Map<string, bigint> =>
  new Map(
    rows
      .map((row): [string, bigint] => [
        `${cellOf(Number(scaled(row['from_m'], 3)))} ${row['part']} ${row['zone']} ${row['item']}`,
        billionths(row['missing_local']),
      ])
      .filter(([, local]) => local !== 0n),
  );

const sums = (rows: Row[]): Map<string, [bigint, bigint]> => {
  const found = new Map<string, [bigint, bigint]>();
  for (const row of rows) {
    const key = `${row['part']} ${row['zone']} ${row['item']}`;
    const [required, installed] = found.get(key) ?? [0n, 0n];
    found.set(key, [required + billionths(row['required']), installed + billionths(row['installed'])]);
  }
  return new Map([...found].sort(([a], [b]) => (a < b ? -1 : 1)));
};

let drives = 0;

/** A stroke whose class ends within it: a line over both parts counts once. */
const PART_OF_A_STROKE: World = {
  lengthMm: LENGTH_MM,
  strokes: [[0, 2]],
  classes: [{ fromMm: 0, toMm: 1, code: 'A' }],
  decisions: [],
  former: [],
  sections: [],
  standards: { A: [{ item: 'MESH', zone: 'L1', perM: 1, tolerance: 0 }], B: [] },
  limitsMm: {},
  lines: [{ item: 'MESH', zone: 'L1', fromMm: 0, quantity: 1, toMm: 2 }],
};

/** A stroke within one interval, of which only the beginning is due: a line over it counts once, and half of it in each part. */
const PARTLY_DUE: World = {
  ...PART_OF_A_STROKE,
  strokes: [[0, 8]],
  classes: [{ fromMm: 0, toMm: 8, code: 'A' }],
  standards: { A: [{ item: 'MESH', zone: 'L1', perM: 1_000_000, tolerance: 0 }], B: [] },
  limitsMm: { L1: 4 },
  lines: [{ item: 'MESH', zone: 'L1', fromMm: 0, quantity: 6, toMm: 8 }],
};

/** Support where no demand is known does not make up for what the rest of the stroke lacks. */
const PARTLY_ASSESSED: World = {
  ...PARTLY_DUE,
  classes: [{ fromMm: 0, toMm: 4, code: 'A' }],
  lines: [{ item: 'MESH', zone: 'L1', fromMm: 4, quantity: 6, toMm: 8 }],
};

/** The last stroke ends with the drive, where there is a line. */
const AT_THE_END: World = {
  ...PARTLY_DUE,
  strokes: [[LENGTH_MM - 8, LENGTH_MM]],
  classes: [{ fromMm: LENGTH_MM - 8, toMm: LENGTH_MM, code: 'A' }],
  lines: [{ item: 'MESH', zone: 'L1', fromMm: LENGTH_MM, quantity: 6, toMm: LENGTH_MM }],
};

/** Rows before the next stroke whose text, which may be cached, differs from their columns. $1: the drive, $2: the length of the stroke. */
const WORDED_OTHERWISE = `select n.words from drive d cross join lateral report.next_stroke_of(d.id, $2) n
  where d.code = $1 and n.item_code is not null and n.words::jsonb is distinct from jsonb_build_object('zone', n.zone, 'item', n.item_code, 'kind', n.kind,
    'description', n.description, 'unit', n.unit, 'from', chainage_text(n.from_chainage_m), 'to', chainage_text(n.to_chainage_m), 'required', n.required::text,
    'installed', n.installed::text, 'missing', n.missing::text, 'restsOn', n.rests_on)`;

it('any record and requirement, by any interval, agrees with a count by millimetre', async () => {
  await fc.assert(
    fc.asyncProperty(
      world,
      fc.constantFrom<1 | -1>(1, -1),
      fc.integer({ min: 700, max: 7000 }),
      fc.uniqueArray(fc.integer({ min: 0, max: LENGTH_MM }), { minLength: 2, maxLength: 2 }),
      fc.integer({ min: 1, max: 3000 }),
      async (given, direction, intervalMm, ends, strokeMm) => {
        drives += 1;
        const drive = `D${drives}`;
        const chainage = (mm: number): number => START_MM + direction * mm;
        await aDrive(app, {
          drive,
          direction,
          startChainage: formatChainage(chainage(0)),
          endChainage: formatChainage(chainage(LENGTH_MM)),
        });
        await put(drive, given);
        const naive = new NaiveSupport(given);
        // by round chainages: floor of the chainage along the direction
        const cellOf = (mm: number): number => Math.floor((direction * START_MM + mm) / intervalMm);
        const whole = await asked(drive, chainage(0), chainage(LENGTH_MM), metres(intervalMm));
        expect(byKey(whole, cellOf)).toEqual(naive.totals(cellOf));
        expect(localOf(whole, cellOf)).toEqual(naive.local(cellOf));
        // sums are the same for any interval length
        const asOne = await asked(drive, chainage(LENGTH_MM), chainage(0), null);
        expect(sums(asOne)).toEqual(sums(whole));
        // between two places
        const [low = 0, high = 0] = ends.toSorted((a, b) => a - b);
        const inside = (mm: number): number => Number(mm >= low && mm < high);
        const part = await asked(drive, chainage(low), chainage(high), null);
        const expected = new Map([...naive.totals(inside)].filter(([key]) => key.startsWith('1 ')));
        expect(byKey(part, () => 1)).toEqual(expected);
        expect(localOf(part, () => 1)).toEqual(
          new Map([...naive.local(inside)].filter(([key]) => key.startsWith('1 '))),
        );
        // behind the face
        const behind = await app.sql<Row>(
          `select zone, (face_m * 1000)::int as face, (unsupported_m * 1000)::int as a, (incomplete_m * 1000)::int as b, (coalesce(overdue_m, 0) * 1000)::int as c,
           (not_assessed_m * 1000)::int as d, (coalesce(overdue_not_assessed_m, 0) * 1000)::int as e from report.unsupported_length('P1', $1) order by zone`,
          [drive],
        );
        expect(behind.map((row) => ['a', 'b', 'c', 'd', 'e'].map((name) => row[name]))).toEqual(
          ZONES.map((name) => naive.behindFace(name)),
        );
        expect(behind[0]?.['face']).toBe(faceOf(given));
        // before the next stroke
        const next = await app.sql<Row>(
          `select zone, (complete_to_m * 1000)::int as due, (not_assessed_m * 1000)::int as unknown, item_code as item, missing::text
           from report.before_next_stroke('P1', $1, $2)`,
          [drive, metres(strokeMm)],
        );
        for (const name of ZONES) {
          const rows = next.filter((row) => row['zone'] === name);
          const missing: Record<string, bigint> = {};
          for (const { item: code, missing: lacks } of rows)
            if (code) missing[code] = (missing[code] ?? 0n) + billionths(lacks);
          const reported = rows[0] && [rows[0]['due'], rows[0]['unknown'], missing];
          expect(reported).toEqual(naive.beforeNext(name, strokeMm));
        }
        expect(await app.sql(WORDED_OTHERWISE, [drive, metres(strokeMm)])).toEqual([]);
      },
    ),
    {
      ...runs(3, 60),
      examples: [PART_OF_A_STROKE, PARTLY_DUE, PARTLY_ASSESSED, AT_THE_END].map((given) => [
        given,
        1,
        700,
        [0, 1],
        1,
      ]),
    },
  );
});
