import fc from 'fast-check';
import { ManyPuts } from '../../../src/common/imports/many-puts.js';
import { Kinds, type KindPut } from '../../../src/features/site/imports/kinds.service.js';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { runs } from '../../harness/sizes.js';

// Rows that are put many at once against the same rows, each by its PUT: of the import, and over HTTP. Answers, records and history are
// the same. The drives run from 1+200 to 1+300 with rising chainage.

const DRIVES = '/v1/projects/P1/drives';
const REASON = 'as surveyed in March';

let app: TestApp;
let drives = 0;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

type Row = Record<string, string>;

interface Trial {
  /** of its history */
  tables: string[];
  /** cells beside the name; the second half of them is for rows that are mostly refused or meet another */
  cells: Record<string, fc.Arbitrary<string>>;
  /** cells of the record when it is read that a table may have as well */
  shown?: string[];
}

const oneOf = (...values: string[]): fc.Arbitrary<string> => fc.constantFrom(...values);
/** Mostly one of the first, seldom the last, which is refused. */
const mostly = (good: fc.Arbitrary<string>, bad: string): fc.Arbitrary<string> =>
  fc.oneof({ arbitrary: good, weight: 30 }, { arbitrary: fc.constant(bad), weight: 1 });
const text = oneOf('', 'wet', 'a "quoted" word', 'Fels; nass', 'ß');
const at = fc.integer({ min: 0, max: 99_000 });
const place = at.map((mm) => `1+${(200 + mm / 1000).toFixed(3)}`);
const metres = (max: number, places = 3): fc.Arbitrary<string> =>
  fc.integer({ min: 1, max: max * 1000 }).map((thousandths) => (thousandths / 1000).toFixed(places));
const moment = fc
  .integer({ min: 0, max: 9_000_000 })
  .map((s) => new Date(Date.UTC(2024, 2, 1) + s * 1000).toISOString().replace('.000', ''));

const TRIALS: Record<string, Trial> = {
  overbreak: {
    tables: ['overbreak_item'],
    cells: {
      from: mostly(place, '1+199'),
      to: mostly(place, 'x'),
      cause: mostly(oneOf('geological', 'operational'), 'ground'),
      areaM2: oneOf('', '0.5', '1.25'),
      volumeM3: oneOf('', '2', '0.750'),
      maxDepthM: oneOf('', '0.3', '100'),
      arcFromDeg: oneOf('', '', '10', '350'),
      arcToDeg: oneOf('', '', '20', '30'),
      surveyedAt: fc.oneof(fc.constant(''), moment),
      remark: text,
    },
    shown: ['lengthM'],
  },
  'ground-logs': {
    tables: ['ground_log_sheet'],
    cells: {
      from: mostly(place, '2+000'),
      to: place,
      mappedPlace: oneOf('face', 'crown', 'left_wall', 'invert'),
      mappedFor: oneOf('', 'contractor', 'client'),
      mappedBy: mostly(oneOf('geologist', 'Ü'), ''),
      mappedAt: moment,
      lithology: text,
      ucsMpa: oneOf('', '75.5', '120', '0.30000000000000004'),
      rqdPercent: mostly(oneOf('', '75', '82.5'), '101'),
      jointSpacingM: oneOf('', '0.2', '0.4'),
      'jointOrientation.dipDeg': oneOf('45', '60'),
      'jointOrientation.dipDirectionDeg': oneOf('135', '359.9'),
      'jointOrientation.driveAzimuthDeg': oneOf('10', '90'),
    },
  },
  'inflow-measurements': {
    tables: ['inflow_measurement'],
    cells: {
      place: mostly(oneOf('portal', 'portal', 'portal', 'interval', 'hole'), 'face'),
      from: oneOf('', '', '', '1+210', '1+300'),
      to: oneOf('', '', '', '1+215', '1+301'),
      hole: oneOf('', '', '', 'PH1'),
      method: oneOf('weir', 'bucket'),
      measuredAt: moment,
      flowLPerMin: metres(90),
      serviceWaterLPerMin: oneOf('', '', '20'),
      remark: text,
    },
  },
  encounters: {
    tables: ['encounter'],
    cells: {
      kind: mostly(oneOf('void', 'gas', 'water_bearing'), 'cave'),
      from: place,
      to: place,
      source: oneOf('boring', 'mapping'),
      face: fc.oneof(fc.constant(''), mostly(place, '1+300.001')),
      metAt: moment,
      metBy: oneOf('shift engineer', 'geologist'),
      remark: text,
    },
  },
  discontinuities: {
    tables: ['discontinuity'],
    cells: {
      chainage: mostly(place, '1+300.5'),
      type: mostly(oneOf('joint', 'bedding'), 'crack'),
      dipDeg: oneOf('0', '45', '90'),
      dipDirectionDeg: oneOf('0', '135.5', '359'),
      set: text,
      spacingM: oneOf('', '0.25'),
      infilling: oneOf('', 'none'),
      infillingMaterial: oneOf('', '', 'clay'),
      mappedAt: fc.oneof(fc.constant(''), moment),
    },
  },
  'probe-holes': {
    tables: ['probe_hole', 'probe_log'],
    cells: {
      collar: mostly(place, '1+300.5'),
      lookOutDeg: oneOf('0', '7.5'),
      lengthM: oneOf('20', '30', '12.5'),
      positionDeg: oneOf('', '0', '90'),
      lookOutAzimuthDeg: oneOf('', '', '45'),
      waterDepthM: oneOf('', '', '12', '25'),
      method: oneOf('', 'cored'),
      drilledAt: fc.oneof(fc.constant(''), moment),
      log: oneOf(
        '',
        '[]',
        '[{"fromM":"0","toM":"5","rock":"gneiss"},{"fromM":"5","toM":"12.5","isVoid":true}]',
        '[{"fromM":"0","toM":"5","rock":"schist"}]',
        '[{"fromM":"5","toM":"9","remark":"loss"}]',
        '[{"fromM":"0","toM":"15"}]',
        '[{"fromM":"0","toM":"5"},{"fromM":"4","toM":"6"}]',
      ),
    },
  },
};

const NAMES = Array.from({ length: 16 }, (_, index) => `R${index}`);

/** A table: names of records, each once, with their cells. */
const tables = ({ cells }: Trial): fc.Arbitrary<Row[]> =>
  fc
    .subarray(NAMES, { minLength: 8 })
    .chain((names) =>
      fc.tuple(
        ...names.map((name) => fc.record({ name: mostly(fc.constant(name), `${name} bad`), ...cells })),
      ),
    );

const csv = (rows: Row[]): string => {
  const heads = Object.keys(rows[0] ?? {});
  const cell = (value: string): string => `"${value.replaceAll('"', '""')}"`;
  return [heads.join(','), ...rows.map((row) => heads.map((head) => cell(row[head] ?? '')).join(','))].join(
    '\n',
  );
};

const newDrive = async (): Promise<string> => {
  drives += 1;
  const drive = `MANY-${drives}`;
  await aDrive(app, { drive, endChainage: '1+300' });
  return drive;
};

const send = async (drive: string, kind: string, rows: Row[], fields: Record<string, string>) => {
  const { status, body } = await app.http
    .post(`${DRIVES}/${drive}/imports/${kind}`)
    .set('x-reason', encodeURIComponent(REASON))
    .field({ mode: 'valid-rows', allRows: 'true', decimal: 'point', chainages: 'km+m', ...fields })
    .attach('file', Buffer.from(csv(rows)), 'table.csv');
  return { status, body: JSON.parse(JSON.stringify(body).replaceAll(drive, 'DRIVE')) };
};

/** Does the work without what puts many at once. */
const byPuts = async <T>(kind: string, work: () => Promise<T>): Promise<T> => {
  const found = app.app.get(Kinds).of(kind) as KindPut;
  const { many } = found;
  found.many = undefined;
  try {
    return await work();
  } finally {
    found.many = many;
  }
};

/** What stands in a drive, and its history: versions in their order, by whom and why, without what the database counts. */
const recordOf = async (drive: string, table: string): Promise<unknown> => {
  const without = `- '{id,drive_id,project_id,probe_hole_id,from_change,to_change}'::text[]`;
  const of = `drive_id = (select id from drive where code = $1)`;
  const now = await app.sql(`select to_jsonb(t) ${without} as row from ${table} t where ${of} order by 1`, [
    drive,
  ]);
  const past = await app.sql(
    `select to_jsonb(h) ${without} as row, h.to_change = 9223372036854775807 as stands, c.actor, c.reason, c.drives = array[h.drive_id] as alone
     from history.${table} h join history.change c on c.project_id = h.project_id and c.number = h.from_change where ${of} order by 1, 2`,
    [drive],
  );
  return { now, past };
};

const recordsOf = (drive: string, { tables: names }: Trial): Promise<unknown[]> =>
  Promise.all(names.map((table) => recordOf(drive, table)));

/** The body of the PUT that a row of a new record is. */
const bodyOf = ({ name: _, ...row }: Row): object => {
  const body: Record<string, unknown> = {};
  for (const [head, value] of Object.entries(row)) {
    const [first = '', second] = head.split('.');
    const read: unknown = value === '' ? undefined : value.startsWith('[') ? JSON.parse(value) : value;
    if (second === undefined) body[first] = read;
    else body[first] = { ...(body[first] as object | undefined), [second]: read };
  }
  return body;
};

it.each(Object.entries(TRIALS))('%s give the same result at once and one by one', async (kind, trial) => {
  expect(app.app.get(ManyPuts).of(kind)).toBeDefined();
  let taken = 0;
  const property = fc.asyncProperty(
    tables(trial),
    tables(trial),
    fc.boolean(),
    async (first, second, isWhole) => {
      const [one, other, third] = [await newDrive(), await newDrive(), await newDrive()];
      const statuses: string[] = [];
      for (const { name = '', ...row } of first) {
        const { status } = await app.http
          .put(`${DRIVES}/${third}/${kind}/${encodeURIComponent(name)}`)
          .set('x-reason', encodeURIComponent(REASON))
          .send(bodyOf({ name, ...row }));
        statuses.push(status < 300 ? 'created' : `rejected by ${Math.floor(status / 100)}`);
      }
      const begun = await send(one, kind, first, {});
      expect(
        begun.body.rows.map(({ outcome }: { outcome: string }) =>
          outcome.replace('rejected', 'rejected by 4'),
        ),
      ).toEqual(statuses);
      expect(await byPuts(kind, () => send(other, kind, first, {}))).toEqual(begun);
      expect(await recordsOf(one, trial)).toEqual(await recordsOf(third, trial));
      // some as they stand, some changed, some with what the record says of itself
      const again = [...first.slice(0, first.length / 2), ...second].filter(
        ({ name }, index, all) => all.findIndex((each) => each.name === name) === index,
      );
      const mode = isWhole ? 'whole' : 'valid-rows';
      const changed = await send(one, kind, again, { mode });
      expect(await byPuts(kind, () => send(other, kind, again, { mode }))).toEqual(changed);
      expect(await recordsOf(one, trial)).toEqual(await recordsOf(other, trial));
      taken += begun.body.created;
    },
  );
  await fc.assert(property, { ...runs(2, 12), endOnFailure: true });
  expect(taken).toBeGreaterThan(0);
});

it('a read-only cell is compared with the result, at once and one by one', async () => {
  const rows = [
    { name: 'A', from: '1+200', to: '1+201', cause: 'geological', areaM2: '1', lengthM: '1' },
    { name: 'B', from: '1+202', to: '1+203', cause: 'geological', areaM2: '1', lengthM: '3' },
    { name: 'C', from: '1+204', to: '1+205', cause: 'geological', areaM2: '1', lengthM: '' },
    { name: 'D', from: '1+204.5', to: '1+206', cause: 'geological', areaM2: '1', lengthM: '1.5' },
  ];
  const [one, other] = [await newDrive(), await newDrive()];
  const { status, body } = await send(one, 'overbreak', rows, {});
  expect([status, body.rows.map(({ outcome }: { outcome: string }) => outcome)]).toEqual([
    200,
    ['created', 'rejected', 'created', 'rejected'],
  ]);
  expect(body.rows[1].faults).toEqual([
    {
      field: 'lengthM',
      value: '3',
      detail: expect.stringMatching(/^lengthM cannot be changed \(current value "1.000"\)/),
    },
  ]);
  expect(body.rows[3].faults).toEqual([
    {
      field: 'from',
      value: '1+204.5',
      detail: expect.stringMatching(/overlaps geological overbreak C, 1\+204.000 to 1\+205.000/),
    },
  ]);
  expect(await byPuts('overbreak', () => send(other, 'overbreak', rows, {}))).toEqual({ status, body });
});

it('logs of many holes give the same result at once and hole by hole', async () => {
  const holes = Array.from({ length: 12 }, (_, index) => `H${index}`);
  const [one, other] = [await newDrive(), await newDrive()];
  const at = { collar: '1+210', lookOutDeg: '5', lengthM: '20' };
  for (const drive of [one, other])
    await send(
      drive,
      'probe-holes',
      holes.map((name) => ({ name, ...at })),
      {},
    );
  const rows = (depths: number[]): Row[] =>
    holes.flatMap((hole, index) =>
      depths.map((depth, place) => ({
        hole,
        fromM: String(depth),
        toM: String(depth + 5 + (index === 3 ? 4 : 0)), // those of H3 overlap
        rock: (place + index + depths.length) % 2 === 0 ? 'gneiss' : 'schist',
      })),
    );
  for (const depths of [[0, 5], [0, 5, 10], [5], [5, 15, 16]]) {
    const taken = await send(one, 'probe-logs', rows(depths), {});
    expect(await byPuts('probe-logs', () => send(other, 'probe-logs', rows(depths), {}))).toEqual(taken);
    expect(await recordsOf(one, TRIALS['probe-holes'] as Trial)).toEqual(
      await recordsOf(other, TRIALS['probe-holes'] as Trial),
    );
    expect(taken.body.rowCount).toBe(holes.length * depths.length);
  }
});
