import { readFileSync } from 'node:fs';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';

/** An invented bill of sixteen items, as CSV. */
export const EXAMPLE_BILL = readFileSync(path.join(packageRoot, 'docs', 'examples', 'bill.csv'), 'utf8');

/** Its amounts by group and overall, added up by hand from the last column. */
export const EXAMPLE_TOTALS = {
  groups: [
    ['SITE', 2, '6270000.00'],
    ['EXCAVATE', 2, '2415977.88'],
    ['SUPPORT', 7, '1125327.00'],
    ['AHEAD', 4, '314566.73'],
    ['WATER', 1, '0.00'],
  ],
  amount: '10125871.61',
};

export interface ItemTrial {
  reference: string;
  groupCode?: string;
  groupTitle?: string;
  description: string;
  unit: string;
  kind?: string;
  decimals: number;
  quantity?: string;
  rate: string;
}

/** An item of a bill, with usual values by default. */
export const anItem = (reference: string, said: Partial<ItemTrial> = {}): ItemTrial => ({
  reference,
  description: `Item ${reference}`,
  unit: 'm3',
  decimals: 1,
  quantity: '10',
  rate: '2.50',
  ...said,
});

/** A bill as a document. */
export const aBill = (items: ItemTrial[], said: object = {}): object => ({
  validFrom: '2027-01-01',
  items,
  ...said,
});
