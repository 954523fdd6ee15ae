import { createHash } from 'node:crypto';
import { type Fault, faulty, shown } from '../../../common/api/problem.js';
import { decimalsOf, plainDecimal } from '../../../engineering/amount.js';
import { PayItemKind } from '../../../generated/prisma/enums.js';
import type { Bill, BillInput, PayItem, PayItemInput } from './bill.models.js';

/** An item in canonical form: different spellings of a number are equal; null where nothing was given. */
export interface ItemRow {
  reference: string;
  groupCode: string | null;
  groupTitle: string | null;
  description: string;
  unit: string;
  kind: PayItemKind;
  decimals: number;
  quantity: string;
  rate: string;
}

export type ItemField = keyof ItemRow;

/** A bill in canonical form. */
export interface BillRows {
  validFrom: string;
  currency: string;
  remark: string | null;
  items: ItemRow[];
}

/** A fault of an item. */
export interface ItemFault {
  field: ItemField;
  value: unknown;
  detail: string;
}

/** Text in stored form: uniform line ends, no surrounding blanks. */
export const tidy = (text: string): string => text.replaceAll(/\r\n?/g, '\n').trim();

const tidyOrNull = (text?: string | null): string | null => {
  const kept = tidy(text ?? '');
  return kept === '' ? null : kept;
};

/** A valid item, in stored form. */
export const itemRow = (item: PayItemInput): ItemRow => ({
  reference: item.reference,
  groupCode: item.groupCode ?? null,
  groupTitle: tidyOrNull(item.groupTitle),
  description: tidy(item.description),
  unit: tidy(item.unit),
  kind: item.kind ?? PayItemKind.quantity,
  decimals: item.decimals,
  quantity: plainDecimal(String(item.quantity ?? 0)),
  rate: plainDecimal(String(item.rate)),
});

/** Faults of an item by itself. */
export const faultsOfItem = (item: ItemRow): ItemFault[] => {
  const faults: ItemFault[] = [];
  const fault = (field: ItemField, detail: string): void => {
    faults.push({ field, value: shown(item[field]), detail });
  };
  if (item.description === '') fault('description', 'description is blank');
  if (item.unit === '') fault('unit', 'unit is blank');
  if (item.groupTitle !== null && item.groupCode === null)
    fault('groupTitle', `groupTitle "${item.groupTitle}" is given without a groupCode`);
  if (item.rate.startsWith('-'))
    fault('rate', `rate is ${item.rate}: a rate must not be negative; deductions are not bill items`);
  if (item.quantity.startsWith('-'))
    fault('quantity', `quantity is ${item.quantity}: a quantity of the bill must not be negative`);
  else if (decimalsOf(item.quantity) > item.decimals)
    fault(
      'quantity',
      `quantity ${item.quantity} has more decimals than the ${item.decimals} to which the item is rounded`,
    );
  return faults;
};

/** Finds conflicts between items. `where` is as in "is listed twice, on line 2 and on line 7". */
export class ItemsTogether {
  private readonly references = new Map<string, string>();
  private readonly titles = new Map<string, { title: string | null; where: string }>();

  /** A reference that occurs twice, and a group with two titles. */
  faultsOf({ reference, groupCode, groupTitle }: ItemRow, where: string): ItemFault[] {
    const faults = this.twice(reference, where);
    if (groupCode === null) return faults;
    const known = this.titles.get(groupCode);
    if (!known) this.titles.set(groupCode, { title: groupTitle, where });
    else if (known.title !== groupTitle)
      faults.push({
        field: 'groupTitle',
        value: shown(groupTitle),
        detail: `group ${groupCode} has ${titled(groupTitle)} here and ${titled(known.title)} ${known.where}: a group has one title`,
      });
    return faults;
  }

  twice(reference: string, where: string): ItemFault[] {
    const first = this.references.get(reference);
    if (first === undefined) {
      this.references.set(reference, where);
      return [];
    }
    const detail = `item ${reference} is listed twice, ${first} and ${where}`;
    return [{ field: 'reference', value: shown(reference), detail }];
  }
}

const titled = (title: string | null): string => (title === null ? 'no title' : `the title "${title}"`);

/** The items of a document as stored. @throws ProblemError invalid with every fault */
export const itemRows = (items: PayItemInput[]): ItemRow[] => {
  const together = new ItemsTogether();
  const faults: Fault[] = [];
  const rows = items.map((item, index) => {
    const row = itemRow(item);
    const found = [...faultsOfItem(row), ...together.faultsOf(row, `as item ${index + 1}`)];
    for (const { field, value, detail } of found)
      faults.push({ in: 'body', pointer: `/items/${index}/${field}`, value, detail });
    return row;
  });
  if (faults.length > 0) throw faulty('invalid', faults);
  return rows;
};

/** A bill in stored form; `currency` applies if the document names none. */
export const billRows = (input: BillInput, items: ItemRow[], currency: string): BillRows => ({
  validFrom: input.validFrom,
  currency: input.currency ?? currency,
  remark: tidyOrNull(input.remark),
  items,
});

/** An existing bill, in stored form. */
export const rowsOfBill = ({ validFrom, currency, remark, items }: Omit<Bill, 'etag'>): BillRows => ({
  validFrom,
  currency,
  remark: remark ?? null,
  items: items.map((item: PayItem) => itemRow(item)),
});

/** Whether two bills are equal. */
export const isSame = (a: BillRows, b: BillRows): boolean => JSON.stringify(a) === JSON.stringify(b);

/** The strong entity tag of a bill, from its content; locking changes it. */
export const etagOf = (bill: Omit<Bill, 'etag'>): string =>
  `"${createHash('sha256')
    .update(JSON.stringify([rowsOfBill(bill), bill.lockedAt ?? null]))
    .digest('hex')
    .slice(0, 32)}"`;
