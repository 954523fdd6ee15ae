import { wordsOf } from '../../../common/words.js';
import { formatChainage } from '../../../engineering/chainage.js';
import { remarksOf } from './remarks.js';
import { type Entry, type Required, rowsOf, short, type StripRows } from './strip-data.js';

export interface TableColumn {
  title: string;
  /** a unit: with superscripts on paper */
  kind: 'text' | 'number' | 'unit';
  /** share of the page width */
  width: number;
}

/** A table of the record of an interval. Numbers are exact decimals as text. */
export interface StripTable {
  name: string;
  source: string;
  columns: TableColumn[];
  rows: string[][];
  total?: string[];
  /** Rows in the record; more than listed here when a sheet has no room for all. */
  count: number;
}

const text = (title: string, width: number): TableColumn => ({ title, kind: 'text', width });
const unit = (title: string, width: number): TableColumn => ({ title, kind: 'unit', width });
const number = (title: string, width: number): TableColumn => ({ title, kind: 'number', width });

const FROM_TO = [text('from', 9), text('to', 9)];

const placeText = (metres: number): string => formatChainage(Math.round(metres * 1000));

const required = (rows: Required[]): StripTable => ({
  name: 'Support required and installed',
  source: 'report.missing_support_between',
  columns: [
    ...[text('item', 12), text('zone', 6), text('part', 12)],
    ...[
      number('required', 10),
      number('installed', 10),
      number('missing', 10),
      unit('unit', 6),
      text('state', 14),
    ],
  ],
  rows: rows.map(({ item, zone, unit, part, ...row }) => [
    ...[item ?? '', zone ?? '', wordsOf(part), row.required, row.installed, row.missing],
    ...[unit ?? '', wordsOf(row.state)],
  ]),
  count: rows.length,
});

const entryTable = (
  name: string,
  record: string,
  entries: Entry[],
  columns: TableColumn[],
  cells: (entry: Entry) => string[],
  total?: (sum: string) => string[],
): StripTable => {
  const own = entries.filter((entry) => entry.record === record);
  const [first] = own;
  return {
    ...{ name, source: 'report.as_built', columns },
    rows: own.filter(({ isListed }) => isListed).map(cells),
    ...(first?.sum != null && total ? { total: total(first.sum) } : {}),
    count: first?.count ?? 0,
  };
};

const reported = (entries: Entry[]): StripTable[] => [
  entryTable(
    'Strokes',
    'stroke',
    entries,
    [
      ...[number('stroke', 6), ...FROM_TO, number('within [m]', 8), text('end of boring', 13)],
      ...[text('shift', 13), number('torque ratio', 8)],
    ],
    (each) => [
      ...[each.reference, each.from, each.to, each.quantity ?? '', each.at ?? '', each.shift ?? ''],
      each.torqueRatio === null ? '' : each.torqueRatio.toFixed(3),
    ],
    (sum) => ['', 'sum', '', sum, '', '', ''],
  ),
  entryTable(
    'Ground as noted by the shifts',
    'ground',
    entries,
    [
      ...FROM_TO,
      number('within [m]', 8),
      text('class', 6),
      text('lithology', 20),
      text('shift', 13),
      text('remark', 30),
    ],
    (each) => [
      ...[each.from, each.to, each.quantity ?? '', each.reference, each.description ?? ''],
      ...[each.shift ?? '', each.remark ?? ''],
    ],
    (sum) => ['sum', '', sum, '', '', '', ''],
  ),
  entryTable(
    'Support installed',
    'support',
    entries,
    [
      ...[
        ...FROM_TO,
        text('item', 10),
        text('description', 22),
        text('zone', 5),
        number('within', 8),
        unit('unit', 5),
      ],
      ...[text('arc [°]', 9), number('thickness [mm]', 8), text('shift', 13), text('remark', 20)],
    ],
    (each) => [
      ...[each.from, each.to, each.reference, each.description ?? '', each.zone ?? '', each.quantity ?? ''],
      ...[each.unit ?? '', each.arc ?? '', each.thickness ?? '', each.shift ?? '', each.remark ?? ''],
    ],
  ),
];

const RECORDS: Record<string, string> = {
  class_decision: 'Class decisions',
  ground_log: 'Ground logs',
  discontinuity: 'Discontinuities',
  overbreak: 'Overbreak',
  probe_hole: 'Probe holes',
  investigation: 'Investigations ahead',
  indication: 'Indications ahead',
  encounter: 'Encounters',
  hold_point: 'Hold points',
  inflow: 'Inflow',
  water_test: 'Water tests',
};

/** Records whose description consists of enum names, such as shear_zone; those of other records also contain people's text. */
const NAMED = new Set(['discontinuity', 'overbreak', 'investigation', 'inflow']);

const describedOf = ({ record, description }: Entry): string =>
  NAMED.has(record) ? wordsOf(description) : (description ?? '');

const registers = (entries: Entry[]): StripTable[] =>
  Object.entries(RECORDS).map(([record, name]) => ({
    ...entryTable(
      name,
      record,
      entries,
      [
        ...[...FROM_TO, text('name', 12), text('description', 26), text('state', 10), number('quantity', 8)],
        ...[unit('unit', 10), text('by', 10), text('at', 13), text('remark', 24)],
      ],
      (each) => [
        ...[each.from, each.to, each.reference],
        ...[describedOf(each), wordsOf(each.state), short(each.quantity ?? '')],
        ...[each.unit ?? '', each.by ?? '', each.at ?? '', each.remark ?? ''],
      ],
    ),
    source: 'report.as_built_register',
  }));

/** All tables of an interval, including empty ones. */
const allTablesOf = (rows: StripRows): StripTable[] => {
  const remarks = remarksOf(rows);
  return [
    {
      name: 'Remarks by number',
      source: 'report.as_built, report.as_built_register',
      columns: [number('no.', 4), ...FROM_TO, text('of', 16), text('name', 14), text('remark', 70)],
      rows: remarks.map(({ number: place, entry, text: words }) => [
        ...[String(place), entry.from, entry.to, wordsOf(entry.record), entry.reference, words],
      ]),
      count: remarks.length,
    },
    {
      name: 'Photos and files by number',
      source: 'report.attachment',
      columns: [number('no.', 4), ...FROM_TO, text('file', 24), text('kind', 14), text('caption', 50)],
      rows: rows.files.map((file) => [
        ...[String(file.number), placeText(file.fromM), placeText(file.toM), file.name, file.mediaType],
        file.caption ?? '',
      ]),
      count: rows.files.length,
    },
    {
      name: 'Advance per day',
      source: 'report.day_advance',
      columns: [text('day', 10), ...FROM_TO, number('advance [m]', 10)],
      rows: rows.days.map(({ day, fromM, toM, advance }) => [day, placeText(fromM), placeText(toM), advance]),
      count: rows.days.length,
    },
    {
      name: 'Shifts and their digests',
      source: 'report.shift_sheet',
      columns: [
        ...[
          text('shift', 16),
          text('bored from', 10),
          text('to', 10),
          text('state', 14),
          text('acceptance', 14),
        ],
        text('digest of the shift, SHA-256', 58),
      ],
      rows: rows.shifts.map(({ date, name, from, to, state, acceptance, digest }) => [
        ...[`${date} ${name}`, from ?? '', to ?? '', wordsOf(state), wordsOf(acceptance), digest],
      ]),
      count: rows.shifts.length,
    },
    required(rows.sums),
    {
      name: 'Grouting rounds',
      source: 'report.grouting_round',
      columns: [
        ...FROM_TO,
        text('round', 12),
        text('purpose', 14),
        text('state', 10),
        number('holes', 6),
        number('dry mass [kg]', 10),
      ],
      rows: rows.grouting.map(({ fromM, toM, name, purpose, state, holes, mass }) => [
        ...[placeText(fromM), placeText(toM), name, wordsOf(purpose), wordsOf(state)],
        ...[String(holes), mass],
      ]),
      count: rows.grouting.length,
    },
    ...registers(rows.registers),
    ...reported(rows.entries),
  ];
};

/** The tables of an interval without empty ones. */
export const tablesOf = (rows: StripRows): StripTable[] => allTablesOf(rows).filter(({ count }) => count > 0);

const keyOf = ({ name }: StripTable): string => name.toLowerCase().replaceAll(' ', '_');

/** Keys by which tables are requested. */
export const TABLE_KEYS: string[] = allTablesOf(rowsOf({})).map(keyOf);

/** @param key  one of TABLE_KEYS */
export const tableOf = (rows: StripRows, key: string): StripTable => {
  const found = allTablesOf(rows).find((table) => keyOf(table) === key);
  if (!found) throw new RangeError(`there is no table ${key}`);
  return found;
};
