import { readShared, type SharedText } from '../../../common/work/shared-text.js';

/** Data of a strip: rows of views of schema report. Places are chainages in metres; exact numbers are text, as in the views. */

interface Stretch {
  fromM: number;
  toM: number;
}

export interface Head {
  project: string;
  projectName: string;
  drive: string;
  direction: number;
  boredDiameterM: string;
  faceM: number;
  face: string;
  /** The moment shown, in the project's local time. */
  asOf: string;
  /** The last change of the record read: number and local time; the change's moment, and its hash in hexadecimal, null before the first change. */
  lastChange: string;
  changedAt: string | null;
  hash: string | null;
  /** Date of creation, and creator. */
  made: string;
  madeBy: string;
}

export interface Day extends Stretch {
  day: string;
  advance: string;
}

/** A shift that bored or installed support in the interval, and where it bored there. */
export interface Shift {
  date: string;
  name: string;
  from: string | null;
  to: string | null;
  state: string;
  acceptance: string;
  digest: string;
}

export interface Ground extends Stretch {
  lithology: string | null;
  noted: string | null;
  groundClass: string | null;
  /** index of the class among those of the project, by code */
  place: number | null;
  contested: string | null;
  contestedState: string | null;
}

export interface Log extends Stretch {
  name: string;
  q: number | null;
  qClass: string | null;
  qLowest: number | null;
  qHighest: number | null;
  rmr: number | null;
  rmrClass: string | null;
  gsi: string | null;
  waterState: string | null;
  inflow: number | null;
}

export interface Discontinuity extends Stretch {
  name: string;
  type: string;
  dip: number;
  dipDirection: number;
  set: string | null;
  position: number | null;
}

export interface Inflow extends Stretch {
  name: string;
  inflow: string;
  method: string;
}

export interface WaterTest extends Stretch {
  name: string;
  lugeon: number | null;
}

export interface Overbreak extends Stretch {
  name: string;
  cause: string;
  volume: string | null;
  depth: number | null;
}

/** Properties not recorded for a line are absent: for tens of thousands of lines that saves a third of the text. */
export interface Support extends Stretch {
  item: string;
  kind: string;
  zone: string;
  unit: string;
  quantity: string;
  thickness?: string;
  arcFrom?: number;
  arcTo?: number;
  /** chainages of its pieces [m], and their positions on the ring [°] */
  places?: number[];
  arcs?: number[];
}

export interface Required {
  from: string;
  to: string;
  item: string | null;
  zone: string | null;
  unit: string | null;
  part: string;
  required: string;
  installed: string;
  missing: string;
  missingLocal: string;
  state: string;
}

export interface Hole extends Stretch {
  name: string;
  position: number | null;
  lookOut: number;
  water: string | null;
  givesCover: boolean;
  state: string;
}

export interface Grouting extends Stretch {
  name: string;
  purpose: string;
  state: string;
  holes: number;
  mass: string;
}

export interface Stroke extends Stretch {
  number: number;
  thrust: number | null;
  penetration: number | null;
  torqueRatio: number | null;
}

export interface File extends Stretch {
  number: number;
  name: string;
  mediaType: string;
  caption: string | null;
}

/** A row of report.as_built or report.as_built_register. */
export interface Entry extends Stretch {
  record: string;
  from: string;
  to: string;
  reference: string;
  description: string | null;
  state: string | null;
  quantity: string | null;
  unit: string | null;
  zone: string | null;
  shift: string | null;
  by: string | null;
  at: string | null;
  remark: string | null;
  arc: string | null;
  thickness: string | null;
  torqueRatio: number | null;
  /** Whether it is in the table, which may not have room for all; the number of its kind, and their sum. */
  isListed: boolean;
  count: number;
  sum: string | null;
}

export interface StripRows {
  days: Day[];
  shifts: Shift[];
  ground: Ground[];
  logs: Log[];
  discontinuities: Discontinuity[];
  inflow: Inflow[];
  tests: WaterTest[];
  overbreak: Overbreak[];
  support: Support[];
  required: Required[];
  holes: Hole[];
  grouting: Grouting[];
  strokes: Stroke[];
  files: File[];
  /** Required against installed support in the whole interval. */
  sums: Required[];
  entries: Entry[];
  registers: Entry[];
}

export type RowsName = keyof StripRows;

/** The rows as JSON from PostgreSQL, in parts: they are parsed where they are drawn. */
export type StripTexts = Partial<Record<RowsName, SharedText[]>>;

export interface StripInput {
  head: Head;
  from: string;
  to: string;
  /** By rising chainage. [m] */
  lowM: number;
  highM: number;
  /** Scale 1 : denominator. */
  denominator: number;
  tracks: string[];
  texts: StripTexts;
}

export const rowsOf = (texts: StripTexts): StripRows => {
  const read = (name: RowsName): unknown[] =>
    (texts[name] ?? []).flatMap((part) => JSON.parse(readShared(part)) as unknown[]);
  const names: RowsName[] = [
    'days',
    'shifts',
    'ground',
    'logs',
    'discontinuities',
    'inflow',
    'tests',
    'overbreak',
    'support',
    'required',
    'holes',
    'grouting',
    'strokes',
    'files',
    'sums',
    'entries',
    'registers',
  ];
  return Object.fromEntries(names.map((name) => [name, read(name)])) as unknown as StripRows;
};

/** Ends of a stretch by rising chainage. [m] */
export const endsOf = ({ fromM, toM }: Stretch): [number, number] =>
  fromM <= toM ? [fromM, toM] : [toM, fromM];

/** In order of position on the sheet, from left to right. */
export const alongSheet = <S extends Stretch>(stretches: readonly S[]): S[] =>
  stretches.toSorted((one, other) => endsOf(one)[0] - endsOf(other)[0]);

/** An exact number without trailing zeros. */
export const short = (decimal: string): string =>
  decimal.includes('.') ? decimal.replace(/\.?0+$/, '') : decimal;
