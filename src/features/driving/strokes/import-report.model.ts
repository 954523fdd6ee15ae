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
import { RecordDoubt } from '../doubts/doubt.models.js';
import { TABLE_LIMIT_ROWS } from './import-table.js';
import { RowOutcome } from './row-outcome.js';

export class StrokeImportRow {
  @IntField({
    description: 'Line of the file on which the row begins, or its number in the sheet; 1 for the first',
    min: 1,
  })
  line: number;

  @IntField({ description: 'Number of the stroke; absent when it cannot be read', optional: true })
  number?: number;

  @EnumField({ description: 'Result for the row', values: RowOutcome, name: 'RowOutcome' })
  outcome: RowOutcome;

  @TextField({ description: 'Why it is rejected, or how it was changed', maxLength: 5000, optional: true })
  detail?: string;
}

export class StrokeImportReport {
  @BooleanField({ description: 'Whether it was a dry run: nothing is written' })
  dryRun: boolean;

  @ObjectField(() => TableReading, { description: 'How the table was read' })
  read: TableReading;

  @ListField(() => StrokeImportRow, {
    description: 'The rows of the table, in its order',
    max: TABLE_LIMIT_ROWS,
  })
  rows: StrokeImportRow[];

  @IntField({ description: 'Rows created' })
  created: number;

  @IntField({ description: 'Rows that already equal the record' })
  unchanged: number;

  @IntField({ description: 'Rows rejected; with any, nothing is written' })
  rejected: number;

  @IntField({
    description:
      'Strokes imported before that were removed from the drive, because they were replaced or the table lacks them',
  })
  removed: number;

  @IntField({ description: 'Strokes without a shift that are doubted, whether of this table or not' })
  doubted: number;

  @ListField(() => RecordDoubt, { description: 'Doubts about them: the first hundred' })
  doubts: RecordDoubt[];

  @DecimalField({ description: 'Length of the rows created and unchanged together [m]' })
  metres: string;
}
