import { ApiProperty } from '@nestjs/swagger';
import { IsOptional, Matches, MaxLength } from 'class-validator';
import { EmptyIsAbsent, FlagField, IsFile } from '../../../common/api/form-fields.js';
import { IsDate, IsText } from '../../../common/api/rules.js';
import { DeclaredTableForm } from '../../../common/files/table/form.model.js';

/** The parts of an upload, as multipart/form-data. */
export class BillImportForm extends DeclaredTableForm {
  @ApiProperty({
    description:
      'The items as CSV or as a workbook (.xlsx). Headings: reference, description, unit and rate; optional group_code, ' +
      'group_title, kind (quantity, lump, time), decimals, quantity and amount.  An amount is compared ' +
      'with quantity × rate and not stored. What a table has no column for stays as it stands; new items then have kind quantity, ' +
      '3 decimals and quantity 0',
    type: 'string',
    format: 'binary',
  })
  @IsFile('bill.xlsx')
  file: Buffer;

  @FlagField('Report only what the import would do, rejected rows included; nothing is written')
  dryRun?: boolean;

  @FlagField(
    'Replace the bill by the table: items that the table lacks are removed, and its order becomes that of the bill',
  )
  replace?: boolean;

  @ApiProperty({
    description: 'First day on which the version counts; needed when it is new',
    type: String,
    format: 'date',
    required: false,
  })
  @EmptyIsAbsent()
  @IsOptional()
  @IsDate()
  validFrom?: string;

  @ApiProperty({
    description: 'Currency, ISO 4217; as it stands, or the project’s, when absent',
    type: String,
    required: false,
  })
  @EmptyIsAbsent()
  @IsOptional()
  @Matches(/^[A-Z]{3}$/, { message: '$property must be an ISO 4217 code such as EUR' })
  currency?: string;

  @ApiProperty({ description: 'Remark', type: String, maxLength: 500, required: false })
  @EmptyIsAbsent()
  @IsOptional()
  @IsText()
  @MaxLength(500)
  remark?: string;
}
