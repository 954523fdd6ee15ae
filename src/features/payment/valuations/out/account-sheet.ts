import type { PrintSheet, XlsxCell } from '../../../../common/files/xlsx.js';
import { type Account, type AccountLine, hasGroups, type Sums, versionsOf } from './account.js';
import {
  billOf,
  cautionsOf,
  changeOf,
  cutOffOf,
  driveOf,
  groupOf,
  groupTotalOf,
  LIMITS,
  markOf,
  placeOf,
  projectOf,
  sealOf,
  sidesOf,
  signaturesOf,
  stateOf,
  sumsOf,
  timesOf,
  titleOf,
  totalOf,
  versionOf,
} from './account-words.js';
import {
  AMOUNTS,
  at,
  type Column,
  COLUMNS,
  headingRow,
  letterOf,
  type Row,
  sparse,
  TEXTS,
  reported,
  widths,
} from './sheet-columns.js';
import { alignedFormat, decimalsIn, difference, percentage, product } from './sheet-figures.js';

/** Most decimals of the numbers in each column, so that they can be aligned at the decimal point. */
const mostDecimals = (lines: AccountLine[]): Record<Column, number> =>
  Object.fromEntries(
    COLUMNS.map((column) => [
      column,
      TEXTS.includes(column)
        ? 0
        : Math.max(0, ...lines.map((line) => decimalsIn(String(line[column] ?? '')))),
    ]),
  ) as Record<Column, number>;

const lineRow = (line: AccountLine, place: number, most: Record<Column, number>): Row => {
  const number = (column: Column, value: string): XlsxCell => ({
    number: value,
    format: alignedFormat(decimalsIn(value), most[column]),
  });
  const figure = (column: Column, computed: { formula?: string; value: string }): XlsxCell => ({
    ...(computed.formula === undefined
      ? { number: computed.value }
      : { formula: computed.formula, value: computed.value }),
    format: alignedFormat(decimalsIn(computed.value), most[column]),
  });
  const [toDate, previous] = [at('toDateQuantity', place), at('previousQuantity', place)];
  return sparse({
    reference: { text: line.reference },
    description: { text: line.description, wrap: true },
    unit: { text: line.unit },
    rate: number('rate', line.rate),
    billQuantity: number('billQuantity', line.billQuantity),
    previousQuantity: number('previousQuantity', line.previousQuantity),
    quantity: figure(
      'quantity',
      difference([toDate, line.toDateQuantity], [previous, line.previousQuantity], line.quantity),
    ),
    toDateQuantity: number('toDateQuantity', line.toDateQuantity),
    ...(Number(line.heldQuantity) === 0 ? {} : { heldQuantity: number('heldQuantity', line.heldQuantity) }),
    ...(line.percentOfBill == null
      ? {}
      : {
          percentOfBill: figure(
            'percentOfBill',
            percentage(
              [toDate, line.toDateQuantity],
              [at('billQuantity', place), line.billQuantity],
              line.percentOfBill,
            ),
          ),
        }),
    ...(line.roundedWith == null ? {} : { roundedWith: { text: line.roundedWith.join(', '), wrap: true } }),
    ...(line.deemedShifts == null
      ? {}
      : { deemedShifts: { text: line.deemedShifts.join(', '), wrap: true } }),
    previousAmount: number('previousAmount', line.previousAmount),
    amount: figure(
      'amount',
      difference(
        [at('toDateAmount', place), line.toDateAmount],
        [at('previousAmount', place), line.previousAmount],
        line.amount,
      ),
    ),
    toDateAmount: figure(
      'toDateAmount',
      product([toDate, line.toDateQuantity], [at('rate', place), line.rate], line.toDateAmount),
    ),
  });
};

const totalRow = (text: string, sums: Sums, formula: (column: string) => string): Row =>
  sparse(
    {
      description: { text, font: 'bold', line: 'above', wrap: true },
      ...Object.fromEntries(
        AMOUNTS.map(([column, sum]) => [
          column,
          {
            formula: `ROUND(${formula(letterOf(column))},${decimalsIn(sums[sum])})`,
            value: sums[sum],
            format: alignedFormat(decimalsIn(sums[sum]), decimalsIn(sums[sum])),
            font: 'bold',
            line: 'above',
          } satisfies XlsxCell,
        ]),
      ),
    },
    { empty: true, line: 'above' },
  );

/** Lines have a reference, and totals have none. */
const sumOfLines = (first: number, last: number) => (column: string) =>
  `SUMIF($A$${first}:$A$${last},"<>",${column}${first}:${column}${last})`;

const bodyRows = (account: Account, first: number): Row[] => {
  const rows: Row[] = [];
  const most = mostDecimals(account.lines);
  const next = (): number => first + rows.length;
  const versions = versionsOf(account.lines);
  for (const version of versions) {
    const top = next();
    if (versions.length > 1)
      rows.push(sparse({ description: { text: versionOf(account, version), font: 'bold', wrap: true } }));
    for (const group of version.groups) {
      if (hasGroups(version))
        rows.push(
          sparse(
            { description: { text: groupOf(group), font: 'bold', shaded: true, wrap: true } },
            { empty: true, shaded: true },
          ),
        );
      const from = next();
      for (const line of group.lines) rows.push(lineRow(line, next(), most));
      const until = next() - 1;
      if (hasGroups(version))
        rows.push(
          totalRow(groupTotalOf(group), group.sums, (column) => `SUM(${column}${from}:${column}${until})`),
        );
    }
    if (versions.length > 1)
      rows.push(totalRow(`Total of bill ${version.version}`, version.sums, sumOfLines(top, next() - 1)));
  }
  if (account.lines.length > 0)
    rows.push(totalRow(totalOf(account.head), sumsOf(account), sumOfLines(first, next() - 1)));
  return rows;
};

/** Columns over which a signature is written. */
const SIGNED: readonly Column[] = ['quantity', 'toDateQuantity', 'percentOfBill', 'previousAmount'];

const signatureRows = (account: Account): Row[] => [
  [],
  ...signaturesOf(account).flatMap(({ role, who, when }): Row[] => [
    [],
    sparse({
      reference: { text: role, font: 'bold' },
      description: { text: [who ?? 'Name:', when ?? 'Date:'].join('   ') },
      previousQuantity: { text: 'Signature', align: 'right' },
      ...Object.fromEntries(SIGNED.map((column) => [column, { empty: true, line: 'below' }])),
    }),
  ]),
  [],
  ...[sidesOf(account), sealOf(account), changeOf(account), timesOf(account), LIMITS]
    .filter((text) => text !== '')
    .flatMap((text) => reported(text)),
];

/** A valuation as a sheet to be printed and signed; figures that can be calculated are formulas. */
export const accountSheet = (account: Account): PrintSheet => {
  const mark = markOf(account);
  const { head } = account;
  const above: Row[] = [
    [{ text: mark === undefined ? titleOf(account) : `${titleOf(account)} – ${mark}`, font: 'title' }],
    ...[
      `Project ${projectOf(account)}; drive ${driveOf(account)}`,
      `Cut-off ${cutOffOf(account)}; state: ${stateOf(account)}`,
      `Bill: ${billOf(account)}; rates and amounts in ${head.currency ?? '–'}`,
      ...(head.remark == null ? [] : [`Remark: ${head.remark}`]),
    ].flatMap((text) => reported(text)),
    ...cautionsOf(account).flatMap((text) => reported(text, 'bold')),
    [],
  ];
  const first = above.length + 2;
  return {
    name: titleOf(account),
    widths: widths(account),
    headingRow: first - 1,
    ...(mark === undefined ? {} : { header: mark }),
    footer: `${titleOf(account)}, ${placeOf(account)}, cut-off ${head.cutOff}`,
    rows: [
      ...above,
      headingRow(head.currency ?? undefined),
      ...bodyRows(account, first),
      ...signatureRows(account),
    ],
  };
};
