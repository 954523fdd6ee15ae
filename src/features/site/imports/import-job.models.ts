import { ApiProperty } from '@nestjs/swagger';
import { CodeField } from '../../../common/api/fields.js';
import { ImportDeclaration } from './import.models.js';

/** What an upload for a job says of its import, beside the table. */
export class ImportJobOptions extends ImportDeclaration {
  @CodeField({ description: 'Code of the drive, for a kind whose records belong to one', optional: true })
  drive?: string;
}

/** The parts of the upload as multipart/form-data, for its description: they are read as they come. */
export class ImportJobForm extends ImportJobOptions {
  @ApiProperty({
    description:
      'The table as a CSV of at most 1000000 rows and 512 MB, or as a workbook (.xlsx) of at most 200000 cells and 20 MB. Whole, or in a ' +
      'dry run, at most 20000 rows. The rows of one record follow each other',
    type: 'string',
    format: 'binary',
  })
  file: unknown;
}
