import fc from 'fast-check';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { itOnce, runs } from '../../harness/sizes.js';
import { type Ground, type Looked, type Met, naive, type Predicted } from './naive.js';

// Matching and outcomes on random ground, by the views and by a second implementation. Whole metres, so that ties are common.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const LENGTH = 40;
const KINDS = ['fractured', 'void'];
const metre = fc.integer({ min: 0, max: LENGTH });
const small = fc.integer({ min: 0, max: 4 });
const kind = fc.constantFrom(...KINDS);
const ordered = (a: number, b: number): [number, number] => [Math.min(a, b), Math.max(a, b)];

const looked = fc
  .tuple(metre, metre, small, fc.array(fc.tuple(kind, metre, metre, small, small), { maxLength: 6 }))
  .filter(([a, b]) => a !== b)
  .map(([a, b, at, predicted]): Looked => {
    const [from, to] = ordered(a, b);
    const inside = (m: number): number => Math.min(Math.max(m, from), to);
    return {
      ...{ name: '', from, to, face: from, at },
      predicted: predicted.map(([what, x, y, fromU, toU], index): Predicted => {
        const [low, high] = ordered(inside(x), inside(y));
        return { key: `k${index}`, kind: what, from: low, to: high, fromU, toU };
      }),
    };
  });

const met = fc.tuple(kind, metre, metre, small).map(([what, a, b, at]): Met => {
  const [from, to] = ordered(a, b);
  return { name: '', kind: what, from, to, at };
});

const ground: fc.Arbitrary<Ground> = fc
  .record({
    lengthM: fc.constant(LENGTH),
    faceM: metre.filter((m) => m > 0),
    toleranceM: fc.integer({ min: 0, max: 2 }),
    looked: fc.array(looked, { minLength: 1, maxLength: 3 }),
    met: fc.array(met, { maxLength: 6 }),
  })
  .map((one) => ({
    ...one,
    looked: one.looked.map((each, index) => ({ ...each, name: `V${index}` })),
    met: one.met.map((each, index) => ({ ...each, name: `E${index}` })),
  }));

const day = (at: number): string => `2026-01-0${at + 1} 00:00Z`;

const MAKE = `
  with made as (
    insert into drive (project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m, indication_tolerance_m)
      select p.id, $1, 'Random', 1000, 1000 + $2::int * $3::int, $2::int, 7, $4 from project p where p.code = 'P1' returning id, project_id
  ), bored as (
    insert into boring (drive_id, project_id, stroke_number, from_m, to_m) select id, project_id, 1, 0, $5 from made
  ), met as (
    insert into encounter (drive_id, project_id, name, kind, from_m, to_m, source, met_at, met_by)
      select id, project_id, e.name, e.kind, e."from", e."to", 'boring', e.day, 'M.'
      from made, jsonb_to_recordset($6::jsonb) as e(name text, kind indication_kind, "from" numeric, "to" numeric, day timestamptz)
  ), looked as (
    insert into investigation (drive_id, project_id, name, method, from_m, to_m, face_m, made_at, made_by)
      select id, project_id, v.name, 'resistivity', v."from", v."to", v.face, v.day, 'G.'
      from made, jsonb_to_recordset($7::jsonb) as v(name text, "from" numeric, "to" numeric, face numeric, day timestamptz) returning id, project_id, name
  )
  insert into indication (investigation_id, project_id, key, kind, from_m, to_m, from_uncertainty_m, to_uncertainty_m)
    select looked.id, looked.project_id, i.key, i.kind, i."from", i."to", i."fromU", i."toU"
    from jsonb_to_recordset($8::jsonb) as i(investigation text, key text, kind indication_kind, "from" numeric, "to" numeric, "fromU" numeric, "toU" numeric)
    join looked on looked.name = i.investigation`;

let drives = 0;

const byViews = async (one: Ground, direction: 1 | -1) => {
  drives += 1;
  const code = `R${drives}`;
  await app.sql(MAKE, [
    ...[code, direction, one.lengthM, one.toleranceM, one.faceM],
    JSON.stringify(one.met.map((each) => ({ ...each, day: day(each.at) }))),
    JSON.stringify(one.looked.map((each) => ({ ...each, day: day(each.at) }))),
    JSON.stringify(
      one.looked.flatMap(({ name, predicted }) =>
        predicted.map((each) => ({ ...each, investigation: name })),
      ),
    ),
  ]);
  const rows = async (sql: string): Promise<string[]> =>
    (await app.sql<{ row: string }>(sql, [code])).map(({ row }) => row).toSorted();
  return {
    indications: await rows(
      `select concat(investigation, ' ', key, ' ', outcome, ' ', encounter_name) as row from report.indication_outcome where drive_code = $1`,
    ),
    encounters: await rows(
      `select concat(investigation, ' ', encounter_name, ' ', outcome, ' ', key) as row from report.encounter_outcome where drive_code = $1`,
    ),
  };
};

/** The same ground, scaled up. */
const scaled = ({ looked: all, met: things, ...one }: Ground, by: number): Ground => ({
  ...{ lengthM: one.lengthM * by, faceM: one.faceM * by, toleranceM: one.toleranceM * by },
  looked: all.map(({ predicted, ...each }) => ({
    ...{ ...each, from: each.from * by, to: each.to * by, face: each.face * by },
    predicted: predicted.map(({ from, to, fromU, toU, ...rest }) => ({
      ...{ ...rest, from: from * by, to: to * by, fromU: fromU * by, toU: toU * by },
    })),
  })),
  met: things.map(({ from, to, ...each }) => ({ ...each, from: from * by, to: to * by })),
});

// The views compare by cells of 50 m: at scale 1 everything lies in one cell, at 5 one metre in 10 is a cell boundary, at 25 every other one.
it('agrees with a second implementation, in both directions and at any size', async () => {
  await fc.assert(
    fc.asyncProperty(
      ground,
      fc.constantFrom<1 | -1>(1, -1),
      fc.constantFrom(1, 5, 25),
      async (small, direction, by) => {
        const one = scaled(small, by);
        expect(await byViews(one, direction)).toEqual(naive(one));
      },
    ),
    runs(60, 2000),
  );
});

itOnce('gives percentages from ten on, as 100 · 9 / 10', async () => {
  const predicted = Array.from({ length: 10 }, (_, n): Predicted => {
    return { key: `k${n}`, kind: 'void', from: n, to: n, fromU: 0, toU: 0 };
  });
  const many: Ground = {
    ...{ lengthM: LENGTH, faceM: LENGTH, toleranceM: 0 },
    looked: [{ name: 'V0', from: 0, to: LENGTH, face: 0, at: 0, predicted }],
    met: predicted.slice(1).map(({ from, to }, n): Met => ({ name: `E${n}`, kind: 'void', from, to, at: 1 })),
  };
  await byViews(many, 1);
  const score = () =>
    app.sql(
      `select hit_count, false_alarm_count, missed_count, hit_percent, indicated_percent from report.indication_score where drive_code = $1`,
      [`R${drives}`],
    );
  expect(await score()).toEqual([
    // nine hits and no miss: nine cases
    { hit_count: 9, false_alarm_count: 1, missed_count: 0, hit_percent: '90.0', indicated_percent: null },
  ]);
});
