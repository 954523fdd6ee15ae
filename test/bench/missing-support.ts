import type pg from 'pg';
import { interleave, ratio, spread, type Times } from './compare.js';
import { asking, type Comparison, milliseconds, PROJECT } from './comparisons.js';
import { addDrive, copyDrive, SCALE } from './load.js';
import type { Setting } from './setting.js';

/** Support lines in the whole database when the large drive is read again. */
const MANY_ROWS = 600_000 * SCALE;

const DEMAND = `
  insert into standard_support (project_id, ground_class_id, edition) select project_id, id, 'bench' from ground_class;
  insert into standard_support_item (project_id, standard_support_id, support_item_id, unit, zone, quantity_per_m, tolerance_percent)
    select s.project_id, s.id, i.id, i.unit, case i.code when 'SPRAY' then 'L2' else 'L1' end,
      case i.code when 'BOLT' then 1.666667 when 'RIB' then 0.5 when 'MESH' then 7 else 1.3 end, 5
    from standard_support s cross join support_item i;
  insert into design_section (drive_id, name, from_m, to_m, edition)
    select d.id, 'S' || n, n * 1000, n * 1000 + 100, 'bench' from drive d, generate_series(0, 9) n where d.code = 'LARGE';
  insert into design_section_item (project_id, design_section_id, support_item_id, unit, zone, quantity_per_m)
    select s.project_id, s.id, i.id, i.unit, 'L1', 2 from design_section s join support_item i on i.code = 'BOLT';
  insert into drive_support_limit (drive_id, zone, limit_m) select d.id, z.zone, z.m
    from drive d, (values ('L1', 5), ('L2', 60)) z(zone, m) where d.code = 'LARGE'`;

const BARE = `select from_chainage_m, to_chainage_m, item_code, unit, zone, part, length_m, required, installed, difference, missing_raw, surplus,
    tolerated, missing, state
  from report.missing_support('P', 'LARGE', 10) order by from_m, zone, item_code, part`;

const READS = ['missing-support?lengthM=10', 'unsupported-length', 'before-next-stroke?strokeLengthM=1.7'];

const supportRows = async (client: pg.Client): Promise<number> =>
  (await client.query<{ n: number }>('select count(*)::int as n from support_installed')).rows[0]?.n ?? 0;

/** Missing support along the large drive, by the service and as a PostgreSQL client would read it. */
export const compareMissing = async (
  { ours, client, loaded }: Setting,
  second: pg.Client,
): Promise<Comparison> => {
  await client.query(DEMAND);
  await client.query('analyze');
  const times = await interleave(
    [
      asking('service', () => ours.send('GET', `${PROJECT}/drives/LARGE/${READS[0]}`)),
      asking('bare SQL', () => client.query(BARE)),
      asking('control', () => second.query(BARE)),
    ],
    4,
    1,
  );
  return {
    what: `GET …/${READS[0]} of a drive of 20 km with ${loaded.supportLines} support lines`,
    measure: 'time, service / bare SQL of the function',
    ratio: ratio(times, 'service', 'bare SQL'),
    control: ratio(times, 'control', 'bare SQL'),
    target: { most: 1.2 },
    milliseconds: milliseconds(times),
  };
};

/** Readings from the cached assessment, each with the bare SQL that assesses, and the largest allowed ratio. */
const KEPT: [path: string, bare: string, most: number][] = [
  ['unsupported-length', `select * from report.unsupported_length('P', 'LARGE')`, 0.1],
  ['before-next-stroke?strokeLengthM=1.7', `select * from report.before_next_stroke('P', 'LARGE', 1.7)`, 0.2],
  ['missing-support?lengthM=10', BARE, 0.3],
  [
    'missing-support?from=15%2B000&to=15%2B100',
    `select * from report.missing_support_between('P', 'LARGE', 15000, 15100, null)`,
    0.1,
  ],
];

/** Meanwhile the service cannot cache the assessment again, as it does for a drive that it has seen cached. */
const HOLD = `begin; select pg_advisory_xact_lock(hashtext('drivebook.judgement'), 0)`;

/** Does the work while nothing is cached again. @param second  another session than those that the work uses */
const whileHeld = async <T>(second: pg.Client, work: () => Promise<T>): Promise<T> => {
  await second.query(HOLD);
  try {
    return await work();
  } finally {
    await second.query('rollback');
  }
};

/** Does the work while no assessment is cached. @param second  another session than the client's */
export const withNothingKept = <T>(
  client: pg.Client,
  second: pg.Client,
  work: () => Promise<T>,
): Promise<T> =>
  whileHeld(second, async () => {
    await client.query('delete from kept.judgement');
    return work();
  });

const AT_THE_FACE = `update support_installed set quantity = quantity + 1 where id = (select id from support_installed where drive_id = $1 order by from_m desc limit 1)`;

/** After a change at the face: the cache as far as it is valid, against the computed assessment. */
const compareMissingSince = async ({ ours, client, driveIds }: Setting): Promise<Comparison[]> => {
  await client.query(AT_THE_FACE, [driveIds.LARGE]);
  const comparisons: Comparison[] = [];
  for (const [path, bare, most] of KEPT) {
    const times = await interleave(
      [
        asking('kept up to the face', () => ours.send('GET', `${PROJECT}/drives/LARGE/${path}`)),
        asking('judged by bare SQL', () => client.query(bare)),
      ],
      4,
      1,
    );
    comparisons.push({
      what: `GET …/${path} of that drive, after a change at the face`,
      measure: 'time, service over what is kept up to there / bare SQL of the function, which judges',
      ratio: ratio(times, 'kept up to the face', 'judged by bare SQL'),
      target: { most: most + 0.1 },
      milliseconds: milliseconds(times),
    });
  }
  return comparisons;
};

/** Cached against computed assessment. Nothing stays cached at the end. */
export const compareMissingKept = async (setting: Setting, second: pg.Client): Promise<Comparison[]> => {
  const { ours, client, projectId, driveIds } = setting;
  await client.query(`select set_config('drivebook.project', $1, false)`, [String(projectId)]);
  const { rows } = await client.query<{ took: number }>('select report_kept.keep_judgement($1) as took', [
    driveIds.LARGE,
  ]);
  const comparisons: Comparison[] = [];
  for (const [path, bare, most] of KEPT) {
    const times = await interleave(
      [
        asking('kept', () => ours.send('GET', `${PROJECT}/drives/LARGE/${path}`)),
        asking('judged by bare SQL', () => client.query(bare)),
      ],
      4,
      1,
    );
    comparisons.push({
      what: `GET …/${path} of that drive, over what is kept`,
      measure: 'time, service over what is kept / bare SQL of the function, which judges',
      ratio: ratio(times, 'kept', 'judged by bare SQL'),
      target: { most },
      milliseconds: milliseconds(times),
      notes: [`judged and kept in ${rows[0]?.took} ms`],
    });
  }
  comparisons.push(...(await whileHeld(second, () => compareMissingSince(setting))));
  await client.query('delete from kept.judgement; reset drivebook.project');
  return comparisons;
};

/** The same drive, before and after the others have grown: their lines must not be read. */
export const compareMissingGrowth = async (
  { ours, client, driveIds }: Setting,
  second: pg.Client,
): Promise<Comparison[]> => {
  const ask = (): Promise<Times> =>
    withNothingKept(client, second, () =>
      interleave(
        READS.map((path) => asking(path, () => ours.send('GET', `${PROJECT}/drives/LARGE/${path}`))),
        4,
        1,
      ),
    );
  const few = await supportRows(client);
  const before = await ask();
  for (let other = 0; (await supportRows(client)) < MANY_ROWS; other += 1)
    await copyDrive(client, driveIds.LARGE, await addDrive(client, `OTHER${other}`), ['support_installed']);
  await client.query('vacuum analyze');
  const many = await supportRows(client);
  const after = await ask();
  return READS.map((path) => {
    const times: Times = { [`${many} lines`]: after[path] ?? [], [`${few} lines`]: before[path] ?? [] };
    // the two cannot be interleaved, so medians are compared, with the spread of the later one
    const { median } = spread(before[path] ?? []);
    return {
      what: `GET …/${path} of that drive, other drives grown`,
      measure: `time, ${many} support lines in the database / ${few}`,
      ratio: spread((after[path] ?? []).map((time) => time / median)),
      target: { most: 1.1 },
      milliseconds: milliseconds(times),
    };
  });
};
