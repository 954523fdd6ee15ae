import { TextField } from '../../../common/api/fields.js';

/** Details of the transmission for the file (group TRAN). */
export class AgsIssue {
  @TextField({ description: 'Issue of the file; 1 when not given', maxLength: 40, optional: true })
  issue?: string;

  @TextField({ description: 'Status of the data; Draft when not given', maxLength: 100, optional: true })
  status?: string;

  @TextField({
    description: 'Who produced the file; the contractor of the project when not given',
    maxLength: 100,
    optional: true,
  })
  producer?: string;

  @TextField({
    description: 'Who receives it; the client of the project when not given',
    maxLength: 100,
    optional: true,
  })
  recipient?: string;
}
