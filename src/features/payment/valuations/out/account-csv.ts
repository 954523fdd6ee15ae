import { type CsvCell, csvOf } from '../../../../common/files/csv.js';
import { contestedWords } from './account-words.js';
import type { Account, AccountLine } from './account.js';

type Column = [name: string, cell: (line: AccountLine, account: Account) => CsvCell];

const text = (value: string | null | undefined): CsvCell => (value == null ? null : { text: value });
const number = (value: string | number | null | undefined): CsvCell =>
  value == null ? null : { number: String(value) };

/** Every row states its valuation, and whether that is certified. */
const COLUMNS: Column[] = [
  ['project', (_, { project }) => text(project)],
  ['drive', (_, { drive }) => text(drive)],
  ['valuation', (_, { head }) => number(head.number)],
  ['state', (_, { head }) => text(head.state)],
  ['cut_off', (_, { head }) => text(head.cutOff)],
  ['currency', (_, { head }) => text(head.currency)],
  ['bill_version', ({ version }) => text(version)],
  ['group_code', ({ groupCode }) => text(groupCode)],
  ['group_title', ({ groupTitle }) => text(groupTitle)],
  ['reference', ({ reference }) => text(reference)],
  ['description', ({ description }) => text(description)],
  ['unit', ({ unit }) => text(unit)],
  ['rate', ({ rate }) => number(rate)],
  ['bill_quantity', ({ billQuantity }) => number(billQuantity)],
  ['previous_quantity', ({ previousQuantity }) => number(previousQuantity)],
  ['quantity', ({ quantity }) => number(quantity)],
  ['to_date_quantity', ({ toDateQuantity }) => number(toDateQuantity)],
  ['held_quantity', ({ heldQuantity }) => number(heldQuantity)],
  ['class_basis', ({ basis }) => text(basis)],
  ['contested', ({ contested }) => text(contestedWords(contested ?? []) || null)],
  ['rounded_with', ({ roundedWith }) => text((roundedWith ?? []).join(' ') || null)],
  ['deemed_shifts', ({ deemedShifts }) => text((deemedShifts ?? []).join(' ') || null)],
  ['percent_of_bill', ({ percentOfBill }) => number(percentOfBill)],
  ['previous_amount', ({ previousAmount }) => number(previousAmount)],
  ['amount', ({ amount }) => number(amount)],
  ['to_date_amount', ({ toDateAmount }) => number(toDateAmount)],
  ['agreed_by', (_, { head }) => text(head.agreedBy)],
  ['agreed_for', (_, { head }) => text(head.agreedFor?.code)],
  ['agreed_at', (_, { head }) => text(head.agreedAt)],
  ['certified_by', (_, { head }) => text(head.certifiedBy)],
  ['certified_for', (_, { head }) => text(head.certifiedFor?.code)],
  ['certified_at', (_, { head }) => text(head.certifiedAt)],
  ['signatures', (_, { head }) => text(head.signatures)],
  ['measured_change', (_, { head }) => number(head.measuredChange)],
  ['seal', (_, { head }) => text(head.seal)],
];

/** A valuation as a table: one row per line. */
export const accountCsv = (account: Account): string =>
  csvOf(
    COLUMNS.map(([name]) => name),
    account.lines.map((line) => COLUMNS.map(([, cell]) => cell(line, account))),
  );
