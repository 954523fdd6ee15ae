import {
  BooleanField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  ObjectField,
  TextField,
} from '../../../common/api/fields.js';
import { TableReading } from '../../../common/files/table/form.model.js';
import { MOST_ITEMS } from './bill-limits.js';

/** What became of a row of an imported bill. */
export enum BillRowOutcome {
  created = 'created',
  changed = 'changed',
  unchanged = 'unchanged',
  rejected = 'rejected',
}

export class BillRowFault {
  @TextField({ description: 'The field at fault; empty for the row as a whole' })
  field: string;

  @TextField({ description: 'Kind of flag there', optional: true })
  value?: string;

  @TextField({ description: 'The rule it breaks', maxLength: 5000 })
  detail: string;
}

export class BillRowChange {
  @TextField({ description: 'The field' })
  field: string;

  @TextField({ description: 'What the bill has', optional: true })
  from?: string;

  @TextField({ description: 'What the table says', optional: true })
  to?: string;
}

export class BillImportRow {
  @IntField({ description: 'Line of the file, or number of the row in its sheet', min: 1 })
  line: number;

  @TextField({ description: 'Reference of the item; absent when it cannot be read', optional: true })
  reference?: string;

  @EnumField({ description: 'Result for the row', values: BillRowOutcome, name: 'BillRowOutcome' })
  outcome: BillRowOutcome;

  @ListField(() => BillRowFault, { description: 'Why it is rejected' })
  faults: BillRowFault[];

  @ListField(() => BillRowChange, { description: 'What it changes' })
  changes: BillRowChange[];
}

export class BillImportReport {
  @BooleanField({ description: 'Whether it was a dry run: nothing is written' })
  dryRun: boolean;

  @ObjectField(() => TableReading, { description: 'How the table was read' })
  read: TableReading;

  @ListField(() => BillImportRow, { description: 'The items of the table, in its order', max: MOST_ITEMS })
  rows: BillImportRow[];

  @IntField({ description: 'Items created' })
  created: number;

  @IntField({ description: 'Items changed' })
  changed: number;

  @IntField({ description: 'Items that already equal those of the table' })
  unchanged: number;

  @IntField({ description: 'Items rejected; with any, nothing is written' })
  rejected: number;

  @IntField({ description: 'Items removed from the bill, as it was replaced and the table lacks them' })
  removed: number;

  @IntField({
    description:
      'Rows ignored: without reference, unit, kind, decimals, quantity and rate, such as titles and totals',
  })
  passedOver: number;

  @DecimalField({
    description: 'Sum of the amounts of the bill as it then is; absent with rejected rows [currency]',
    optional: true,
  })
  amount?: string;
}
