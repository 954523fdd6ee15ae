import fc from 'fast-check';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { faceOf, type World } from './naive-support.js';
import { LENGTH_MM, metres, put, START_MM, world } from './worlds.js';
import { runs } from '../../harness/sizes.js';

// A cache that is valid up to the first place that has changed, with the rest computed, against the whole computed.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.sql(
    `insert into ground_class (project_id, code, description) select id, 'C', 'Poor' from project`,
  );
});

afterAll(() => app.close());

let drives = 0;

/** Six strokes that each carry part of a bolt to the next. */
const STEADY: World = {
  lengthMm: LENGTH_MM,
  decisions: [],
  former: [],
  sections: [],
  strokes: [0, 1, 2, 3, 4, 5].map((n) => [n * 1700, (n + 1) * 1700]),
  classes: [{ fromMm: 0, toMm: 10_200, code: 'A' }],
  standards: { A: [{ item: 'BOLT', zone: 'L1', perM: 1_370_000, tolerance: 500 }], B: [] },
  limitsMm: { L1: 2000 },
  lines: [0, 1, 2, 3, 4, 5].map((n) => ({
    item: 'BOLT',
    zone: 'L1',
    fromMm: n * 1700,
    quantity: 2000,
    toMm: (n + 1) * 1700,
  })),
};

/** Removes rows that begin beyond a place, and restores them. $1: the drive, $2: the place. */
const CHANGES = [
  'delete from support_installed where drive_id = $1 and from_m >= $2',
  `insert into support_installed (drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity)
    select drive_id, shift_id, line, support_item_id, unit, zone, from_m, to_m, quantity from history.support_installed
    where drive_id = $1 and from_m >= $2 and to_change = (select max(to_change) from history.support_installed where drive_id = $1 and to_change < 9223372036854775807)`,
  'delete from boring where drive_id = $1 and from_m >= $2',
  `insert into boring (drive_id, stroke_number, from_m, to_m) select drive_id, stroke_number, from_m, to_m from history.boring
    where drive_id = $1 and from_m >= $2 and to_change = (select max(to_change) from history.boring where drive_id = $1 and to_change < 9223372036854775807)`,
  'delete from ground_interval where drive_id = $1 and from_m >= $2',
  `insert into ground_interval (drive_id, shift_id, from_m, to_m, ground_class_id) select drive_id, shift_id, from_m, to_m, ground_class_id from history.ground_interval
    where drive_id = $1 and from_m >= $2 and to_change = (select max(to_change) from history.ground_interval where drive_id = $1 and to_change < 9223372036854775807)`,
];

it('the cache up to a place and the rest computed equal the whole computed, after changes beyond any place', async () => {
  let found = 0;
  let carried = 0;
  await fc.assert(
    fc.asyncProperty(
      world,
      fc.double({ min: 0, max: 1, noNaN: true }),
      fc.integer({ min: 1, max: 3000 }),
      async (given, part, strokeMm) => {
        drives += 1;
        const drive = `D${drives}`;
        const [from, to] = [START_MM, START_MM + LENGTH_MM];
        await aDrive(app, { drive, startChainage: formatChainage(from), endChainage: formatChainage(to) });
        await put(app, drive, given);
        const [ids] = await app.sql<{ id: number }>(`select id from drive where code = $1`, [drive]);
        const keep = (): Promise<unknown> =>
          app.sql(
            `select set_config('drivebook.project', project_id::text, false), report_kept.keep_judgement(id) from drive where id = $1`,
            [ids?.id],
          );
        const judged = async (schema: string): Promise<string[]> => {
          const texts: string[] = [];
          for (const name of [
            `next_stroke_of(${ids?.id}, ${metres(strokeMm)})`,
            `unsupported_length('P1', '${drive}')`,
            `support_lacking_of(${ids?.id})`,
            `missing_support_between('P1', '${drive}', ${metres(from)}, ${metres(to)}, 10)`,
            `missing_support_between('P1', '${drive}', ${metres(from + 1)}, ${metres(to)}, ${metres(Math.max(strokeMm, 100))})`,
          ])
            texts.push(
              ...(await app.sql<{ t: string }>(`select t::text from ${schema}.${name} t order by 1`)).map(
                ({ t }) => t,
              ),
            );
          return texts;
        };
        await keep();
        for (const change of CHANGES) {
          await app.sql(change, [ids?.id, metres(Math.floor(part * faceOf(given)))]);
          const since = await app.sql('select from report_since.judged_since($1)', [ids?.id]);
          found += since.length;
          carried += (await app.sql('select from report_since.carried_of($1)', [ids?.id])).length;
          const whole = await judged('report');
          if (since.length > 0) expect(await judged('report_since')).toEqual(whole);
          await keep();
          expect(await judged('report_kept')).toEqual(whole);
        }
      },
    ),
    { ...runs(1, 20), examples: [[STEADY, 0.7, 700]] },
  );
  expect(found).toBeGreaterThan(0);
  expect(carried).toBeGreaterThan(0);
});
