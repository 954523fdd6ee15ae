import { ApiProperty } from '@nestjs/swagger';
import { CodeField } from '../../../common/api/fields.js';
import { ImportDeclaration } from './import.models.js';

/** Options of an import by upload for a job, beside the table. */
export class ImportJobOptions extends ImportDeclaration {
  @CodeField({ description: 'Code of the drive, for a kind whose records belong to one', optional: true })
  drive?: string;
}

/** The parts of the upload as multipart/form-data, for the OpenAPI document only: the service streams them. */
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
