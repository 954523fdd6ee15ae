import { grouped } from '../../../../common/files/grouped.js';
import { Paper, RED } from '../../../../common/files/paper.js';
import type { PaperColumn } from '../../../../common/files/paper-columns.js';
import { type PaperArea, type PaperRow, PaperTable } from '../../../../common/files/paper-table.js';
import { type Account, type AccountLine, hasGroups, type Sums, versionsOf } from './account.js';
import {
  billOf,
  cautionsOf,
  contestedWords,
  cutOffOf,
  driveOf,
  fewOf,
  groupOf,
  groupTotalOf,
  markOf,
  placeOf,
  projectOf,
  stateOf,
  sumsOf,
  titleOf,
  totalOf,
  versionOf,
} from './account-words.js';
import { drawSignatures, signaturesHeight } from './paper-signatures.js';

const LEFT = 34;
const WIDTH = 841.89 - 2 * LEFT;
const AREA: PaperArea = { x: LEFT, width: WIDTH, top: 58, bottom: 552 };
const FOOT = 564;

const columnsOf = (currency: string): PaperColumn[] => [
  { title: 'Reference', kind: 'text', most: 72 },
  { title: 'Description', kind: 'text' },
  { title: 'Unit', kind: 'text', most: 40 },
  { title: `Rate [${currency}]`, kind: 'number' },
  { title: 'of the bill', kind: 'number', over: 'Quantity' },
  { title: 'previous', kind: 'number', over: 'Quantity' },
  { title: 'this period', kind: 'number', over: 'Quantity' },
  { title: 'to date', kind: 'number', over: 'Quantity' },
  { title: '%\u00a0of bill', kind: 'number', over: 'Quantity' },
  { title: 'previous', kind: 'number', over: `Amount [${currency}]` },
  { title: 'this period', kind: 'number', over: `Amount [${currency}]` },
  { title: 'to date', kind: 'number', over: `Amount [${currency}]` },
];

/** The columns between the text and the sums stay empty. */
const sumCells = ({ previous, period, toDate }: Sums): string[] => [
  ...Array.from({ length: 7 }, () => ''),
  ...[previous, period, toDate].map(grouped),
];

const total = (text: string, sums: Sums): PaperRow => ({
  kind: 'total',
  cells: ['', text, ...sumCells(sums)],
});

/** Notes on an item: the quantity held apart, the classes that do not govern its records, and the basis of its quantity. */
const noteOf = ({ heldQuantity, unit, contested, roundedWith, deemedShifts }: AccountLine): string =>
  [
    ...(Number(heldQuantity) === 0
      ? []
      : [`Held apart, in no other figure of the item: ${grouped(heldQuantity)} ${unit}`]),
    ...((contested ?? []).length === 0 ? [] : [`Contested by ${contestedWords(contested ?? [])}`]),
    ...((roundedWith ?? []).length === 0 ? [] : [`Rounded together: ${(roundedWith ?? []).join(', ')}`]),
    ...((deemedShifts ?? []).length === 0
      ? []
      : [`Deemed accepted, not signed: ${fewOf(deemedShifts ?? [])}`]),
  ].join('. ');

const line = (one: AccountLine): PaperRow => ({
  kind: 'line',
  cells: [
    one.reference,
    one.description,
    one.unit,
    ...[one.rate, one.billQuantity, one.previousQuantity, one.quantity, one.toDateQuantity].map(grouped),
    one.percentOfBill == null ? '' : grouped(one.percentOfBill),
    ...[one.previousAmount, one.amount, one.toDateAmount].map(grouped),
  ],
  carried: ['', ...sumCells(one.carriedSums)],
  ...(noteOf(one) === '' ? {} : { note: noteOf(one) }),
});

const rowsOf = (account: Account): PaperRow[] => {
  const versions = versionsOf(account.lines);
  const several = versions.length > 1;
  const rows = versions.flatMap((version): PaperRow[] => [
    ...(several ? [{ kind: 'heading' as const, text: versionOf(account, version) }] : []),
    ...version.groups.flatMap((group): PaperRow[] =>
      hasGroups(version)
        ? [
            { kind: 'heading', text: groupOf(group) },
            ...group.lines.map(line),
            total(groupTotalOf(group), group.sums),
          ]
        : group.lines.map(line),
    ),
    ...(several ? [total(`Total of bill ${version.version}`, version.sums)] : []),
  ]);
  return rows.length === 0 ? rows : [...rows, total(totalOf(account.head), sumsOf(account))];
};

/** The heading above the table on the first page. @returns y of its end */
const drawHeading = (paper: Paper, account: Account): number => {
  const { head } = account;
  paper.write(titleOf(account), LEFT, 28, { font: 'bold', size: 20 });
  let y = 62;
  const reported: [string, string][] = [
    ['Project', projectOf(account)],
    ['Drive', driveOf(account)],
    ['Cut-off', cutOffOf(account)],
    ['State', stateOf(account)],
    ['Bill', `${billOf(account)}; rates and amounts in ${head.currency ?? '–'}`],
    ...(head.remark == null ? [] : [['Remark', head.remark] satisfies [string, string]]),
  ];
  for (const [label, text] of reported) {
    paper.write(label, LEFT, y, { font: 'bold', size: 9 });
    for (const words of paper.wrapped(text, WIDTH - 62, 'normal', 9)) {
      paper.write(words, LEFT + 62, y, { size: 9 });
      y += 12.5;
    }
  }
  y += 3;
  for (const caution of cautionsOf(account))
    for (const words of paper.wrapped(caution, WIDTH, 'bold', 8.5)) {
      paper.write(words, LEFT, y, { font: 'bold', size: 8.5, colour: RED });
      y += 12;
    }
  return y + 6;
};

/** A valuation on paper, for signature. Equal valuations give equal bytes. */
export const accountPaper = async (account: Account): Promise<Buffer> => {
  const { head } = account;
  const mark = markOf(account);
  const paper = new Paper({
    title: `${titleOf(account)}, ${placeOf(account)}`,
    subject: stateOf(account),
    madeAt: new Date(head.certifiedAt ?? head.cutOff),
  });
  await paper.prepare(JSON.stringify(account));
  const newPage = (): void => {
    paper.addPage();
    if (mark === 'DRAFT') paper.watermark(mark);
    if (mark !== undefined)
      paper.write(mark, LEFT + WIDTH, 28, { font: 'bold', size: 16, colour: RED, align: 'right' });
  };
  const nextPage = (): void => {
    newPage();
    const said = `${titleOf(account)}, ${placeOf(account)}, cut-off ${head.cutOff}`;
    const size = paper.sizeFor(said, WIDTH - 170, 'bold', 10);
    paper.write(said, LEFT, 32, { font: 'bold', size });
  };
  newPage();
  let y = drawHeading(paper, account);
  const rows = rowsOf(account);
  if (rows.length > 0)
    y = await new PaperTable(paper, columnsOf(head.currency ?? ''), rows, AREA, nextPage).draw(y);
  if (y + signaturesHeight(paper, account, WIDTH) > AREA.bottom) {
    nextPage();
    y = AREA.top;
  }
  drawSignatures(paper, account, { x: LEFT, width: WIDTH }, y + 10);
  paper.onEachPage((page, pages) => {
    paper.rule(LEFT, FOOT - 4, WIDTH, 0.4);
    const said = `${titleOf(account)}, ${placeOf(account)}, ${stateOf(account)}`;
    paper.write(said, LEFT, FOOT, { size: paper.sizeFor(said, WIDTH - 80, 'normal', 7.5) });
    paper.write(`Page ${page} of ${pages}`, LEFT + WIDTH, FOOT, { size: 7.5, align: 'right' });
  });
  return paper.finished();
};
