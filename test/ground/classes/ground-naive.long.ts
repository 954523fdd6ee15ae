import fc from 'fast-check';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import {
  CELL_MM,
  CELLS,
  metres,
  naiveAgainst,
  naiveBaselineStrip,
  naiveCross,
  naiveGaps,
  naiveGoverning,
  naiveStrip,
  type World,
  worlds,
} from './naive-ground.js';
import { runs } from '../../harness/sizes.js';

// The figures of class and baseline against a second implementation that checks every cell of the drive: test/ground/classes/naive-ground.ts.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.http.put('/v1/projects/P1/ground-classes/C').send({ description: 'Poor rock' });
});

afterAll(() => app.close());

const START_M = 1200.123;
let drives = 0;

/** Writes a world into its own drive, bypassing the rules on permissions; returns its code. */
const lay = async ({ direction, face, notes, decisions, baseline }: World): Promise<string> => {
  drives += 1;
  const code = `T${drives}`;
  const m = (cells: number): number => (cells * CELL_MM) / 1000;
  const drive = `(select id from drive where code = '${code}')`;
  const groundClass = (one: string): string => `(select id from ground_class where code = '${one}')`;
  const text = (value: string | null): string => (value === null ? 'null' : `'${value}'`);
  const who = (state: string, of: string): string => (state === of ? `'x', now()` : 'null, null');
  const rows = [
    `insert into drive (project_id, code, name, start_chainage_m, end_chainage_m, direction, bored_diameter_m)
      select id, '${code}', 'Trial', ${START_M}, ${START_M} + ${direction} * ${m(CELLS)}, ${direction}, 7 from project`,
    ...(face > 0
      ? [
          `insert into boring (drive_id, project_id, stroke_number, from_m, to_m) select ${drive}, id, 1, 0, ${m(face)} from project`,
        ]
      : []),
    ...notes.map(
      (
        one,
      ) => `insert into ground_interval (drive_id, project_id, shift_id, from_m, to_m, ground_class_id, lithology)
        select ${drive}, id, 1, ${m(one.from)}, ${m(one.to)}, ${groundClass(one.groundClass)}, ${text(one.lithology)} from project`,
    ),
    ...decisions.map(
      (
        one,
      ) => `insert into class_decision (drive_id, project_id, number, from_m, to_m, ground_class_id, state, contractor_representative,
          employer_representative, proposed_by, agreed_by, agreed_at, disputed_by, disputed_at, dispute_reason, withdrawn_by, withdrawn_at, withdrawal_reason)
        select ${drive}, id, ${one.number}, ${m(one.from)}, ${m(one.to)}, ${groundClass(one.groundClass)}, '${one.state}', 'c', 'e', 'p',
          ${who(one.state, 'agreed')}, ${who(one.state, 'disputed')}, ${one.state === 'disputed' ? `'why'` : 'null'},
          ${who(one.state, 'withdrawn')}, ${one.state === 'withdrawn' ? `'why'` : 'null'} from project`,
    ),
    `insert into baseline (drive_id, project_id, name, working_hours_per_day) select ${drive}, id, 'B', 20 from project`,
    ...baseline.map(
      (
        one,
      ) => `insert into baseline_interval (baseline_id, project_id, from_m, to_m, ground_class_id, advance_rate_m_per_d)
        select (select id from baseline where drive_id = ${drive}), id, ${m(one.from)}, ${m(one.to)}, ${groundClass(one.groundClass)}, 15 from project`,
    ),
  ];
  await app.sql(`begin; set local session_replication_role = replica; ${rows.join('; ')}; commit`);
  return code;
};

const rowsOf = async (columns: string[], from: string, parameters: unknown[]): Promise<string[]> => {
  const line = columns.map((column) => `coalesce(${column}::text, '-')`).join(` || ' ' || `);
  return (await app.sql<{ line: string }>(`select ${line} as line from ${from}`, parameters)).map(
    (row) => row.line,
  );
};

const hundredths = (rows: { percent: string | null }[]): number =>
  rows.reduce((sum, { percent }) => sum + Math.round(Number(percent) * 10_000), 0);

it('agree with a count cell by cell', async () => {
  await fc.assert(
    fc.asyncProperty(worlds, async (world) => {
      const code = await lay(world);
      const drive = `(select id from public.drive where code = $1)`;
      const contested = ['contested_number', 'contested_state', 'contested_class_code'];
      const governing = ['from_m', 'to_m', 'ground_class_code', 'basis', ...contested];
      expect(await rowsOf(governing, `report.governing_class_of(${drive})`, [code])).toEqual(
        naiveGoverning(world),
      );
      expect(
        await rowsOf(governing, `report.governing_class where drive_id = ${drive} order by from_m`, [code]),
      ).toEqual(naiveGoverning(world));
      const gap = ['from_m', 'to_m', 'kind', 'decision_number'];
      expect(
        await rowsOf(gap, `report.class_decision_gap where drive_id = ${drive} order by from_m`, [code]),
      ).toEqual(naiveGaps(world));
      const strip = [
        'from_m',
        'to_m',
        'length_m',
        'lithology',
        'noted_class_code',
        'governing_class_code',
        'basis',
        ...contested,
      ];
      expect(await rowsOf(strip, `report.ground_strip('P1', $1)`, [code])).toEqual(naiveStrip(world));
      const baseline = [
        'from_m',
        'to_m',
        'baseline_class_code',
        'governing_class_code',
        'basis',
        'same_m',
        'other_m',
        'unclassed_m',
        'contested_state',
      ];
      expect(await rowsOf(baseline, `report.baseline_strip('P1', $1, 'B')`, [code])).toEqual(
        naiveBaselineStrip(world),
      );
      const cross = ['baseline_class_code', 'governing_class_code', 'length_m'];
      expect((await rowsOf(cross, `report.baseline_cross('P1', $1, 'B')`, [code])).sort()).toEqual(
        naiveCross(world),
      );
      const against = [
        'ground_class_code',
        'baseline_m',
        'encountered_m',
        'same_m',
        'agreed_m',
        'disputed_m',
        'proposed_m',
        'noted_m',
        'whole_baseline_m',
      ];
      expect(
        await rowsOf(
          against,
          `report.baseline_against_encountered('P1', $1, 'B') order by ground_class_code`,
          [code],
        ),
      ).toEqual(naiveAgainst(world));
      // chainage, sums and percentages, recomputed for the whole
      const [sums] = await app.sql<{ [name: string]: string | null }>(
        `select sum(s.length_m)::text as strip, min(s.number || ' ' || s.from_chainage_m) as first,
          (select sum(length_m)::text from report.baseline_cross('P1', $1, 'B')) as "cross",
          (select sum(baseline_m)::text from report.baseline_against_encountered('P1', $1, 'B')) as baseline,
          (select sum(encountered_m)::text from report.baseline_against_encountered('P1', $1, 'B')) as encountered
          from report.ground_strip('P1', $1) s`,
        [code],
      );
      const face = world.face > 0 ? metres(world.face) : null;
      expect(sums).toEqual({
        strip: face,
        first: face && `1 ${START_M.toFixed(3)}`,
        cross: face,
        baseline: face ?? '0.000',
        encountered: face ?? '0.000',
      });
      for (const column of ['baseline_percent', 'encountered_percent']) {
        const percent = await app.sql<{ percent: string | null }>(
          `select ${column} as percent from report.baseline_against_encountered('P1', $1, 'B')`,
          [code],
        );
        expect(hundredths(percent)).toBe(face ? 1_000_000 : 0);
      }
      const [last] = await app.sql<{ to: string }>(
        `select to_chainage_m::text as to from report.ground_strip('P1', $1) order by number desc limit 1`,
        [code],
      );
      expect(last?.to).toBe(
        face ? (START_M + world.direction * ((world.face * CELL_MM) / 1000)).toFixed(3) : undefined,
      );
    }),
    runs(4, 60),
  );
});
