import type { Paper } from '../../../../common/files/paper.js';
import type { Account } from './account.js';
import {
  changeOf,
  LIMITS,
  moneyOf,
  sealOf,
  type Signature,
  sidesOf,
  signaturesOf,
  sumsOf,
  timesOf,
} from './account-words.js';

const GAP = 24;
const LABEL = 48;
const NAME_STEP = 11;
const REST_HEIGHT = 183;

const widthOfEach = (signatures: Signature[], width: number): number =>
  (width - GAP * (signatures.length - 1)) / signatures.length;

const nameLines = (paper: Paper, { who }: Signature, width: number): string[] =>
  paper.wrapped(who ?? '', width - LABEL, 'normal', 9);

/** Additional height for long names. */
const moreForNames = (paper: Paper, signatures: Signature[], width: number): number =>
  NAME_STEP * (Math.max(...signatures.map((one) => nameLines(paper, one, width).length)) - 1);

/** Height of the signatures, which stay on one page. [pt] */
export const signaturesHeight = (paper: Paper, account: Account, width: number): number => {
  const signatures = signaturesOf(account);
  return REST_HEIGHT + moreForNames(paper, signatures, widthOfEach(signatures, width));
};

/** What is signed, by whom, and how it can be verified. */
export const drawSignatures = (
  paper: Paper,
  account: Account,
  { x, width }: { x: number; width: number },
  top: number,
): void => {
  const { previous, period, toDate } = sumsOf(account);
  const sums = [
    `Previous ${moneyOf(account, previous)}`,
    `This period ${moneyOf(account, period)}`,
    `To date ${moneyOf(account, toDate)}`,
  ].join('      ');
  paper.write(sums, x, top, { font: 'bold', size: paper.sizeFor(sums, width, 'bold', 9.5) });
  const signatures = signaturesOf(account);
  const each = widthOfEach(signatures, width);
  const more = moreForNames(paper, signatures, each);
  for (const [index, signature] of signatures.entries()) {
    const left = x + index * (each + GAP);
    paper.write(signature.role, left, top + 24, { font: 'bold', size: 9 });
    const reported: [label: string, lines: string[], y: number][] = [
      ['Name', nameLines(paper, signature, each), top + 40],
      ['Date', [signature.when ?? ''], top + 60 + more],
      ['Signature', [], top + 94 + more],
    ];
    for (const [label, lines, y] of reported) {
      const last = y + (label === 'Name' ? more : 0);
      paper.write(label, left, y, { size: 8, colour: '#555555' });
      for (const [line, text] of lines.entries())
        paper.write(text, left + LABEL, y - 1 + line * NAME_STEP, { size: 9 });
      paper.rule(left + LABEL - 2, last + 11, each - LABEL + 2, 0.5);
    }
  }
  const notes = [sidesOf(account), sealOf(account), changeOf(account), timesOf(account), LIMITS].filter(
    (text) => text !== '',
  );
  for (const [line, text] of notes.entries())
    paper.write(text, x, top + 122 + more + line * 11, { size: 7.5, colour: '#333333' });
};
