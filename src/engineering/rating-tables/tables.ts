/** How a number was found; docs/calculations.md explains the words. */
export type Mark = 'read' | 'transcribed' | 'memory';

/** A row of a rating table: a range of values to choose from, or a band of a measured figure with its rating. */
export interface RatingRow {
  /** Letter or name by which it is chosen. */
  readonly row: string;
  /** Part of the table to which it belongs. */
  readonly group?: string;
  readonly description: string;
  /** Lowest and highest value of the row; equal for a single value. Absent where the row only has a description. */
  readonly min?: number;
  readonly max?: number;
  /** Lower bound of the measured figure's band, and whether the bound belongs to it; the band ends where the next begins. */
  readonly from?: number;
  readonly above?: boolean;
  /** Residual friction angle φr published with a row of Ja. [°] */
  readonly frictionMinDeg?: number;
  readonly frictionMaxDeg?: number;
  /** Band of σc/σ1 published with a row of SRF; unbounded above if it has no upper bound. [-] */
  readonly strengthRatioMin?: number;
  readonly strengthRatioMax?: number;
  /** Excavation and support published with a class of RMR. */
  readonly support?: SupportRow;
}

/** A row of the published support guide. */
export interface SupportRow {
  readonly excavation: string;
  readonly bolts: string;
  readonly sprayedConcrete: string;
  readonly ribs: string;
}

/** How an adjustment changes the value of its row. */
export type AdjustmentForm =
  /** reduced by a percentage from min to max, given in the log */
  | { readonly by: 'percent'; readonly min: number; readonly max: number }
  /** replaced by a value from min to max given in the log, above that of the row */
  | { readonly by: 'value'; readonly min: number; readonly max: number }
  /** replaced by this value */
  | { readonly by: 'fixed'; readonly value: number }
  /** unchanged: the row was chosen with the strength reduced for the anisotropy of the stress */
  | { readonly by: 'stress' };

/** A note of the published tables that allows the value of a row to be changed. Never applied unless a log names it. */
export interface RatingAdjustment {
  readonly name: string;
  /** rows to which it applies */
  readonly rows: readonly string[];
  /** the note as published, in own words */
  readonly note: string;
  readonly form: AdjustmentForm;
  readonly source: string;
  readonly mark: Mark;
}

export interface RatingTable {
  readonly id: string;
  readonly title: string;
  /** Unit of the measured figure of a table of bands. */
  readonly unit?: string;
  /** A rule that is not expressed by the rows. */
  readonly rule?: string;
  readonly source: string;
  readonly mark: Mark;
  readonly rows: readonly RatingRow[];
  readonly adjustments?: readonly RatingAdjustment[];
}

interface Edition {
  /** Name used in records. A released edition never changes: a correction is a new edition. */
  readonly id: string;
  readonly title: string;
  readonly source: string;
  readonly mark: Mark;
  /** The edition that this one corrects; it stays readable, and records rated by it keep it. */
  readonly supersedes?: string;
}

export const Q_TABLES = ['jn', 'jr', 'ja', 'jw', 'srf'] as const;
export type QTable = (typeof Q_TABLES)[number];

/** An edition of the Q-system. */
export interface QEdition extends Edition {
  readonly system: 'q';
  readonly tables: Readonly<Record<QTable | 'classes', RatingTable>> & { readonly esr?: RatingTable };
}

export const RMR_TABLES = [
  'strength_ucs',
  'strength_point_load',
  'rqd',
  'spacing',
  'condition_short',
  'persistence',
  'aperture',
  'roughness',
  'infilling',
  'weathering',
  'groundwater_inflow',
  'groundwater_pressure_ratio',
  'groundwater_state',
  'orientation',
  'strike_and_dip',
  'classes',
  'support_guide',
] as const;
export type RmrTable = (typeof RMR_TABLES)[number];

/** An edition of the Rock Mass Rating. */
export interface RmrEdition extends Edition {
  readonly system: 'rmr';
  readonly tables: Readonly<Record<RmrTable, RatingTable>>;
}

/** Classes of strength of intact rock. */
export interface StrengthEdition extends Edition {
  readonly system: 'strength';
  readonly tables: { readonly classes: RatingTable };
}

export type RatingEdition = QEdition | RmrEdition | StrengthEdition;

/** A row of one value. */
export const one = (row: string, value: number, description: string, group?: string): RatingRow => ({
  row,
  ...(group === undefined ? {} : { group }),
  description,
  min: value,
  max: value,
});

/** A row of a range, ends included. */
export const range = (
  row: string,
  min: number,
  max: number,
  description: string,
  group?: string,
): RatingRow => ({ ...one(row, min, description, group), max });

/** A band with its rating: from its lower bound, which is in it, to the next band. */
export const band = (row: string, from: number, rating: number, description: string): RatingRow => ({
  ...one(row, rating, description),
  from,
});

/** The same for a band published as above its lower bound. */
export const bandAbove = (row: string, from: number, rating: number, description: string): RatingRow => ({
  ...band(row, from, rating, description),
  above: true,
});

/** A class from its lower bound, which is in it; it has no value of its own. */
export const classFrom = (row: string, from: number, description: string): RatingRow => ({
  row,
  description,
  from,
});
