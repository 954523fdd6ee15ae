import {
  BooleanField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  TextField,
} from '../../common/api/fields.js';
import { RecordDoubt } from '../doubts/doubt.models.js';
import { TABLE_LIMIT_ROWS } from './import-table.js';
import { RowOutcome } from './row-outcome.js';

export class StrokeImportRow {
  @IntField({ description: 'Line of the file on which the row begins; the heading row is line 1', min: 1 })
  line: number;

  @IntField({ description: 'Number of the stroke; absent when it cannot be read', optional: true })
  number?: number;

  @EnumField({ description: 'What became of the row', values: RowOutcome, name: 'RowOutcome' })
  outcome: RowOutcome;

  @TextField({ description: 'Why it is rejected, or what was done to it', maxLength: 5000, optional: true })
  detail?: string;
}

export class StrokeImportReport {
  @BooleanField({ description: 'Whether it was a trial: nothing is written' })
  dryRun: boolean;

  @ListField(() => StrokeImportRow, {
    description: 'The rows of the table, in its order',
    max: TABLE_LIMIT_ROWS,
  })
  rows: StrokeImportRow[];

  @IntField({ description: 'Rows created' })
  created: number;

  @IntField({ description: 'Rows that stand already as the table has them' })
  unchanged: number;

  @IntField({ description: 'Rows rejected; with any, nothing is written' })
  rejected: number;

  @IntField({
    description:
      'Strokes imported before that left the drive, their place taken or not in the table any more',
  })
  removed: number;

  @IntField({ description: 'Strokes without a shift that are doubted, whether of this table or not' })
  doubted: number;

  @ListField(() => RecordDoubt, { description: 'What is doubted of them: the first hundred doubts' })
  doubts: RecordDoubt[];

  @DecimalField({ description: 'Length of the rows created and unchanged together [m]' })
  metres: string;
}
