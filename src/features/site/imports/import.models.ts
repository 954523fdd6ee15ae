import { ObjectType } from '@nestjs/graphql';
import { ApiProperty } from '@nestjs/swagger';
import { Transform } from 'class-transformer';
import { IsIn, IsOptional, IsString } from 'class-validator';
import { registerEnum } from '../../../common/api/enums.js';
import {
  BooleanField,
  CodeField,
  DecimalField,
  EnumField,
  IntField,
  ListField,
  ObjectField,
  TextField,
  TextListField,
} from '../../../common/api/fields.js';
import { EmptyIsAbsent, FlagField, IsFile } from '../../../common/api/form-fields.js';
import { DrivePath, ProjectPath } from '../../../common/api/paths.js';
import { decimalPattern } from '../../../common/api/rules.js';
import { DeclaredTableForm, TableReading } from '../../../common/files/table/form.model.js';
import { RecordDoubt } from '../../driving/doubts/doubt.models.js';
import { MOST_ROWS } from './limits.js';

const KIND = { description: 'Kind of record, as listed by import-kinds' };

export class ImportPath extends ProjectPath {
  @CodeField(KIND)
  kind: string;
}

export class DriveImportPath extends DrivePath {
  @CodeField(KIND)
  kind: string;
}

const MODES = ['whole', 'valid-rows'] as const;

/** Options of an import by upload, beside the table. */
export class ImportDeclaration extends DeclaredTableForm {
  @ApiProperty({
    description:
      'JSON: which column each field is read from, as field → heading, field → { "column": heading, "unit" or "factor", "offset" } for a ' +
      'number in another unit, or field → { "value": … } for one value in all rows. Without it, headings are the names of fields, with or ' +
      'without their unit: torqueKnm, "Torque [MNm]"',
    type: String,
    required: false,
    example: JSON.stringify({ name: 'Hole', lengthM: { column: 'Depth', unit: 'cm' } }),
  })
  @Transform(({ value }: { value: unknown }) => (Buffer.isBuffer(value) ? value.toString('utf8') : value))
  @EmptyIsAbsent()
  @IsOptional()
  @IsString({ message: '$property must be JSON text' })
  map?: string;

  @FlagField('Report only what the import would do; nothing is written')
  dryRun?: boolean;

  @ApiProperty({
    description: 'whole: nothing is written when a row is rejected; valid-rows: the other records are',
    enum: MODES,
    required: false,
    default: 'whole',
  })
  @EmptyIsAbsent()
  @IsOptional()
  @IsIn(MODES, { message: `$property must be one of ${MODES.join(', ')}` })
  mode?: (typeof MODES)[number];

  @FlagField(
    'Remove what the table lacks: strokes that were imported before, items of the bills that it names; of kinds strokes and bill-items only',
  )
  replace?: boolean;

  @ApiProperty({
    description:
      'Move the end of a stroke to the next start when the gap is at most this, up to 0.100; of kind strokes only [m]',
    type: String,
    format: 'decimal',
    pattern: decimalPattern(0, 3),
    example: '0.010',
    required: false,
  })
  @EmptyIsAbsent()
  @IsOptional()
  @IsString()
  closeGaps?: string;
}

/** The parts of an upload, as multipart/form-data. */
export class ImportForm extends ImportDeclaration {
  @ApiProperty({
    description: `The table as CSV or as a workbook (.xlsx), a heading row, then at most ${MOST_ROWS} rows`,
    type: 'string',
    format: 'binary',
  })
  @IsFile('table.csv')
  file: Buffer;

  @FlagField(
    'Report every row, and not only the first hundred that are rejected, updated or taken otherwise than written',
  )
  allRows?: boolean;
}

/** The outcome of a row. */
export enum ImportOutcome {
  created = 'created',
  unchanged = 'unchanged',
  updated = 'updated',
  rejected = 'rejected',
}

export class ImportFault {
  @TextField({ description: 'The field at fault; empty for the row as a whole' })
  field: string;

  @TextField({ description: 'What stands there', optional: true })
  value?: string;

  @TextField({ description: 'The rule that it breaks', maxLength: 1000 })
  detail: string;
}

export class ImportChange {
  @TextField({ description: 'The field' })
  field: string;

  @TextField({ description: 'What stood there; absent: nothing', optional: true })
  from?: string;

  @TextField({ description: 'What the table has; absent: nothing', optional: true })
  to?: string;
}

export class ImportRowReport {
  @IntField({
    description: 'Line of the file on which the row begins, or its number in the sheet; 1 for the first',
    min: 1,
  })
  line: number;

  @TextField({ description: 'Key of its record; absent when it cannot be read', optional: true })
  key?: string;

  @EnumField({ description: 'Result for the row', values: ImportOutcome, name: 'ImportOutcome' })
  outcome: ImportOutcome;

  @ListField(() => ImportFault, { description: 'Why it is rejected' })
  faults: ImportFault[];

  @ListField(() => ImportChange, { description: 'What it changes of its record' })
  changes: ImportChange[];

  @TextListField({ description: 'How it was taken otherwise than written', max: 10 })
  notes: string[];
}

/** Number of rows by outcome. */
export type ImportCounts = Record<keyof typeof ImportOutcome, number>;

export class ImportReport {
  @CodeField({ description: 'Kind of record' })
  kind: string;

  @BooleanField({ description: 'Whether it was a dry run: nothing is written' })
  dryRun: boolean;

  @ObjectField(() => TableReading, { description: 'How the table was read' })
  read: TableReading;

  @TextListField({ description: 'Headings of columns that are not read', max: 500 })
  ignored: string[];

  @IntField({ description: 'Rows of the table' })
  rowCount: number;

  @IntField({ description: 'Rows created' })
  created: number;

  @IntField({ description: 'Rows that already equal the record' })
  unchanged: number;

  @IntField({ description: 'Rows that change their record' })
  updated: number;

  @IntField({ description: 'Rows rejected' })
  rejected: number;

  @IntField({
    description: 'Strokes or items that were removed, as they were to be replaced and the table lacks them',
  })
  removed: number;

  @IntField({ description: 'Rows of titles and totals that were passed over, between the items of bills' })
  passedOver: number;

  @DecimalField({ description: 'Length of the rows that are not rejected, of strokes [m]', optional: true })
  lengthM?: string;

  @IntField({
    description:
      'Records of the table that are doubted; of a table of strokes, those without a shift, of this table or not',
    optional: true,
  })
  doubted?: number;

  @ListField(() => RecordDoubt, { description: 'Doubts about them: the first hundred' })
  doubts: RecordDoubt[];

  @ListField(() => ImportRowReport, {
    description:
      'The first hundred rows that are rejected, change their record or were taken otherwise than written, or all rows by allRows',
    max: MOST_ROWS,
  })
  rows: ImportRowReport[];
}

/** Type of a column. */
export enum ImportFieldType {
  text = 'text',
  number = 'number',
  chainage = 'chainage',
  date = 'date',
  instant = 'instant',
  boolean = 'boolean',
  list = 'list',
}

registerEnum(ImportFieldType, {
  name: 'ImportFieldType',
  description: 'What a column of a table holds',
  values: {
    text: 'Text, or one of the codes',
    number: 'A number, in the unit of the field',
    chainage: 'A chainage, such as 1+204.310',
    date: 'A day',
    instant: 'A moment',
    boolean: 'true or false',
    list: 'A list: JSON, or values with semicolons between them',
  },
});

@ObjectType({ description: 'A column of a table that can be imported' })
export class ImportField {
  @TextField({ description: 'Its name' })
  name: string;

  @EnumField({ description: 'What it holds', values: ImportFieldType, name: 'ImportFieldType' })
  type: ImportFieldType;

  @TextField({ description: 'Its unit', optional: true })
  unit?: string;

  @BooleanField({ description: 'Whether it is of the key of the record' })
  isKey: boolean;

  @BooleanField({ description: 'Whether a new record must have it' })
  isNeeded: boolean;

  @TextListField({ description: 'The values that it may have; empty: not of a fixed set', max: 1000 })
  codes: string[];

  @TextField({ description: 'What it is', maxLength: 2000 })
  description: string;
}

@ObjectType({ description: 'A kind of record that a table can be imported as' })
export class ImportKind {
  @CodeField({ description: 'Its name' })
  kind: string;

  @TextField({ description: 'What the rows of a table are' })
  rows: string;

  @BooleanField({ description: 'Whether its records are of a drive; else they are of the project' })
  isOfDrive: boolean;

  @TextField({ description: 'Permission that an import needs' })
  permission: string;

  @BooleanField({ description: 'Whether a row that replaces a record names its version in a column etag' })
  isVersioned: boolean;

  @ListField(() => ImportField, { description: 'The columns of a table' })
  fields: ImportField[];
}
