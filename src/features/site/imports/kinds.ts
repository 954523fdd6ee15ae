import type { Permission } from '../../../common/auth/permissions.js';

/** Rows that are members of a record. */
export interface Members {
  property: string;
  record: string;
  /** a row is an entry of this list within the member, whose own columns it repeats: a boring of a stroke */
  inner?: string;
  /** identifies a member within its record: existing members that the table lacks stay, unless it replaces all of them */
  key?: string;
  /** columns of which a member's row fills at least one: rows with a title or a total are skipped */
  making?: readonly string[];
}

interface Declared {
  /** as in addresses */
  kind: string;
  /** what a row represents */
  rows: string;
}

/** A kind of record of a drive whose rows are validated together by the feature that registered it. */
export interface TogetherDeclaration extends Declared {
  permission: Permission;
  put?: undefined;
  members?: undefined;
}

/** A kind of record that can be imported from a table: what a row represents, and the PUT that takes it. */
export interface PutDeclaration extends Declared {
  /** address of the record's PUT below the project, as declared by its route */
  put: string;
  /** a row is a member of this list of the record; otherwise a row is a record */
  members?: Members;
  /** headings of keys that differ between lists of the record and its address */
  headings?: Record<string, string>;
  /** a column that distinguishes records of one key in their list: the date from which a revision is in force */
  revision?: string;
  /** the collection in whose list its rows are, where its own address has none */
  list?: string;
  /** rows with, or without, a value in a column are of another kind, which has the same list */
  others?: { column: string; filled: boolean; kind: string };
}

export type KindDeclaration = PutDeclaration | TogetherDeclaration;

export const isOfDrive = ({ put }: KindDeclaration): boolean => put?.startsWith('drives/') ?? true;

const D = 'drives/:drive';

const records = (
  kind: string,
  rows: string,
  put: string,
  more: Partial<PutDeclaration> = {},
): PutDeclaration => ({
  kind,
  rows,
  put,
  ...more,
});

const members = (
  kind: string,
  rows: string,
  put: string,
  property: string,
  record: string,
  more: Partial<PutDeclaration> = {},
): PutDeclaration => ({ kind, rows, put, members: { property, record }, ...more });

const SHIFT = `${D}/shifts/:date/:shift`;
const HOLE = `${D}/probe-holes/:name`;
const ROUND = `${D}/grouting-rounds/:name`;
const STANDARD = 'ground-classes/:code/standard-support';

/** What can be imported from tables. */
export const KINDS: readonly KindDeclaration[] = [
  records('parties', 'parties', 'parties/:party', { headings: { party: 'code' } }),
  records('activity-codes', 'activity codes', 'activity-codes/:code'),
  records('equipment', 'equipment', 'equipment/:code'),
  records('ground-classes', 'ground classes', 'ground-classes/:code'),
  records('support-items', 'support items', 'support-items/:code'),
  records('zones', 'zones', 'zones/:code'),
  records('closures', 'closures', 'closures/:code'),
  records(
    'calendar-shifts',
    'shifts of the calendar that is valid from the beginning',
    'calendar-shifts/:code',
    {
      headings: { code: 'name' },
      revision: 'validFrom',
      others: { column: 'validFrom', filled: true, kind: 'calendars' },
    },
  ),
  members('calendars', 'shifts of calendars', 'calendars/:validFrom', 'shifts', 'calendar', {
    list: 'calendar-shifts',
    others: { column: 'validFrom', filled: false, kind: 'calendar-shifts' },
  }),
  records('machines', 'machines', 'machines/:machine', { headings: { machine: 'code' } }),
  members(
    'standard-support',
    'items of the standard support of ground classes',
    STANDARD,
    'items',
    'standard',
    { headings: { code: 'groundClass' }, list: 'standard-support', revision: 'validFrom' },
  ),
  records('shifts', 'shifts', SHIFT),
  {
    ...members('shift-strokes', 'borings of the strokes of shifts', SHIFT, 'strokes', 'shift'),
    members: { property: 'strokes', record: 'shift', inner: 'borings' },
  },
  { kind: 'strokes', rows: 'strokes', permission: 'strokes.import' },
  members('shift-activities', 'activities of shifts', SHIFT, 'activities', 'shift'),
  members('shift-support', 'support of shifts', SHIFT, 'support', 'shift'),
  members('shift-ground', 'ground of shifts', SHIFT, 'ground', 'shift'),
  records('ground-logs', 'ground logs', `${D}/ground-logs/:name`),
  records('discontinuities', 'discontinuities', `${D}/discontinuities/:name`),
  records('overbreak', 'overbreak', `${D}/overbreak/:name`),
  records('class-decisions', 'class decisions', `${D}/class-decisions/:number`),
  records('baselines', 'baselines', `${D}/baselines/:baseline`),
  members(
    'baseline-intervals',
    'intervals of baselines',
    `${D}/baselines/:baseline`,
    'intervals',
    'baseline',
  ),
  members('programme-points', 'points of programmes', `${D}/programmes/:programme`, 'points', 'programme'),
  records('probe-holes', 'probe holes', HOLE),
  members('probe-logs', 'intervals of the logs of probe holes', HOLE, 'log', 'hole', {
    headings: { name: 'hole' },
  }),
  records('investigations', 'investigations', `${D}/investigations/:name`),
  records('encounters', 'encounters', `${D}/encounters/:name`),
  records('inflow-measurements', 'inflow measurements', `${D}/inflow-measurements/:name`),
  records('water-tests', 'water tests', `${D}/water-tests/:name`),
  members('water-test-steps', 'steps of water tests', `${D}/water-tests/:name`, 'steps', 'test', {
    headings: { name: 'test' },
  }),
  records('grouting-rounds', 'grouting rounds', ROUND),
  members('grouting-holes', 'holes of grouting rounds', ROUND, 'holes', 'round', {
    headings: { name: 'round' },
  }),
  members('design-sections', 'items of design sections', `${D}/design-sections/:name`, 'items', 'section', {
    headings: { name: 'section' },
    revision: 'validFrom',
  }),
  {
    ...members('bill-items', 'items of bills', `${D}/bills/:version`, 'items', 'bill'),
    members: {
      ...{ property: 'items', record: 'bill', key: 'reference' },
      making: ['reference', 'kind', 'unit', 'decimals', 'quantity', 'rate'],
    },
  },
  records('notices', 'notices', `${D}/notices/:code`),
  records('lump-progress', 'progress of lump sums', `${D}/lump-progress/:reference/:day`),
];
