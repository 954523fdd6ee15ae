import fc from 'fast-check';
import type { TestApp } from '../../harness/app.js';
import { type Demand, type World, ZONES } from './naive-support.js';

// Random standards, sections, limits, strokes and lines of a short drive.

export const LENGTH_MM = 12_000;
export const START_MM = 1_203_337; // round chainages lie within
const ITEMS = ['BOLT', 'MESH', 'SPRAY'];

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
export const world = fc.oneof(worldOf(LENGTH_MM), worldOf(24));

export const metres = (mm: number): number => mm / 1000;

/** Puts the world into the record, bypassing the API. */
export const put = async (app: TestApp, drive: string, { standards, ...given }: World): Promise<void> => {
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
