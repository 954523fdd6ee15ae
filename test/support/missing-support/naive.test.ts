import fc from 'fast-check';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { faceOf, NaiveSupport, type Total, type World, ZONES } from './naive-support.js';
import { LENGTH_MM, metres, put, START_MM, world } from './worlds.js';
import { runs } from '../../harness/sizes.js';

// Random standards, sections, limits, strokes and lines, against a second implementation that checks every millimetre.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.sql(
    `insert into ground_class (project_id, code, description) select id, 'C', 'Poor' from project`,
  );
});

afterAll(() => app.close());

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
        await put(app, drive, given);
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
