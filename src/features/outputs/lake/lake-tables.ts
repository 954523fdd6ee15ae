/** What the folders of a table are named after, outermost first. */
export type Part = 'project' | 'drive' | 'month';

/** A table of the lake, and the source of its rows. */
export interface LakeTable {
  name: string;
  relation: string;
  parts: readonly Part[];
  /** The day by whose month its rows are divided, if they are. */
  day?: string;
  /** The complete sort order within a file: along the drive or by time, then by key. */
  orderedBy: string;
  /** Precision and scale of numerics for which the view declares none. */
  decimals: Readonly<Record<string, { precision: number; scale: number }>>;
  /** Its rows may change without a change of the record: drafts that depend on a time limit. */
  restsOnClock?: boolean;
}

/** Sums and differences of measured values have the decimals of their terms: three for lengths, six for seconds. */
const MEASURED = { precision: 18, scale: 6 };
const BILLED = { precision: 38, scale: 6 };

const decimals = (type: { precision: number; scale: number }, names: string): LakeTable['decimals'] =>
  Object.fromEntries(names.split(' ').map((name) => [name, type]));

const IN_PROJECT = ['project'] as const;
const BY_DRIVE = ['project', 'drive'] as const;
const BY_MONTH = ['project', 'drive', 'month'] as const;

const dimension = (
  name: string,
  orderedBy: string,
  parts: readonly Part[] = IN_PROJECT,
  measured = '',
): LakeTable => ({
  name,
  relation: `report.${name}`,
  parts,
  orderedBy,
  decimals: measured === '' ? {} : decimals(MEASURED, measured),
});

const fact = (
  name: string,
  parts: readonly Part[],
  day: string | undefined,
  orderedBy: string,
  types: LakeTable['decimals'],
): LakeTable => ({
  name,
  relation: `report.${name}`,
  parts,
  ...(day === undefined ? {} : { day }),
  orderedBy,
  decimals: types,
});

const AMOUNTS =
  'previous_quantity quantity to_date_quantity held_quantity previous_amount amount to_date_amount';

/** The facts and dimensions of `report`. */
export const LAKE_TABLES: readonly LakeTable[] = [
  dimension('dim_date', 'date', []),
  dimension('dim_project', 'project_id'),
  dimension('dim_drive', 'drive_id', IN_PROJECT, 'length_m'),
  dimension('dim_activity_code', 'activity_code_id'),
  dimension('dim_equipment', 'equipment_id'),
  dimension('dim_ground_class', 'ground_class_id'),
  dimension('dim_party', 'party_id'),
  dimension('dim_pay_item', 'pay_item_id'),
  dimension('dim_support_item', 'support_item_id'),
  dimension('dim_zone', 'zone_id'),
  { ...dimension('dim_valuation', 'valuation_id'), restsOnClock: true },
  { ...dimension('dim_shift', 'starts_at, shift_id', BY_MONTH, 'seconds'), day: 'production_day' },
  fact(
    'fact_boring',
    BY_MONTH,
    'production_day',
    'from_m, boring_id',
    decimals(MEASURED, 'from_chainage_m to_chainage_m from_m to_m advance_m boring_seconds boring_length_m'),
  ),
  fact('fact_activity_part', BY_MONTH, 'production_day', 'started_at, activity_id, production_day', {
    ...decimals(MEASURED, 'seconds chainage_m face_m'),
    // a quotient of seconds, for which PostgreSQL keeps at least 16 significant digits: 24 decimals for a millisecond
    hours: { precision: 38, scale: 24 },
  }),
  fact(
    'fact_support_line',
    BY_MONTH,
    'production_day',
    'from_m, support_line_id',
    decimals(
      MEASURED,
      'from_chainage_m to_chainage_m pieces total_length_m area_m2 gross_area_m2 mass_kg theoretical_volume_m3 expected_volume_m3 delivered_volume_m3 placed_volume_m3',
    ),
  ),
  fact(
    'fact_ground_interval',
    BY_DRIVE,
    undefined,
    'from_m, number',
    decimals(MEASURED, 'from_chainage_m to_chainage_m from_m to_m length_m'),
  ),
  fact(
    'fact_probe_hole',
    BY_MONTH,
    'production_day',
    'collar_m, probe_hole_id',
    decimals(MEASURED, 'collar_chainage_m'),
  ),
  fact(
    'fact_inflow',
    BY_MONTH,
    'production_day',
    'measured_at, inflow_id',
    decimals(MEASURED, 'from_chainage_m to_chainage_m'),
  ),
  {
    ...fact(
      'fact_valuation_line',
      BY_MONTH,
      'cut_off',
      'valuation_id, pay_item_id',
      decimals(BILLED, AMOUNTS),
    ),
    restsOnClock: true,
  },
];

/** The raw machine samples, by the month of their moment in UTC, as in PostgreSQL's partitions. */
export const SAMPLES: LakeTable = {
  name: 'machine_sample',
  relation: 'public.machine_sample',
  parts: BY_MONTH,
  day: 'at',
  orderedBy: 'at',
  decimals: {},
};

/** A drive's samples in the table of a month, in the form of the file for both. */
export const samplesOf = (relation: string, driveId: number): string =>
  `${relation} where drive_id = ${driveId} order by ${SAMPLES.orderedBy}`;

/** Hive's, Spark's, Trino's and DuckDB's folder name for null. */
export const NO_MONTH = '__HIVE_DEFAULT_PARTITION__';

/** The place of rows, by the parts of their table. */
export type Place = Partial<Record<Part, string>>;

/** Each folder has one file, always of this name. */
const FILE = 'data.parquet';

/** The path of a file in the lake, such as `project=P/drive=D/month=2027-03` (Hive's form). */
export const pathOf = ({ name, parts }: LakeTable, place: Place): string =>
  [name, ...parts.map((part) => `${part}=${encodeURIComponent(place[part] ?? NO_MONTH)}`), FILE].join('/');
