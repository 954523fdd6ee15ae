import type { OpenAPIObject } from '@nestjs/swagger';
import { CSV } from '../../files/csv.js';
import { XLSX } from '../../files/xlsx.js';
import { declareHeaders } from '../openapi-headers.js';
import { NDJSON } from '../streamed.js';
import { FORMAT, FORMATS } from './format.js';
import { MOST_ROWS } from './workbook.js';

type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;

const LINES =
  'One entry of the JSON list per line; all entries, unless `first` asks for a page. The last line has only the property `$end`: `count` of the entries, and `digest`, the SHA-256 of all bytes before that line (as in RFC 9530). Without it the answer is incomplete.';

const TABLE =
  'A heading line with the names of the JSON properties, then one entry per line (RFC 4180); all entries, unless `first` asks for a page. A property of a nested object is a column `object.property`, a nested list is JSON in its cell, an empty cell is null. Text that a spreadsheet would run as a formula is prefixed with an apostrophe; numbers are as in JSON; text is in double quotes, whatever its form. Trailers show whether the table is complete.';

const PARAMETER: NonNullable<Operation['parameters']>[number] = {
  name: FORMAT,
  in: 'query',
  required: false,
  description: 'Format of the answer, whatever Accept says: for where no header can be sent',
  schema: { type: 'string', enum: FORMATS },
};

const BOOK = `A sheet with the columns of the CSV, numbers as numbers and text as text: at most ${MOST_ROWS} entries, otherwise 422.`;

/** Declares the formats of a list other than JSON, and the parameter that names one. */
export const declareForms = (operation: Operation): void => {
  const { 200: answer } = operation.responses;
  if (!answer || '$ref' in answer) return;
  answer.content = {
    ...answer.content,
    [NDJSON]: { schema: { type: 'string', description: LINES } },
    [CSV]: { schema: { type: 'string', description: TABLE } },
    [XLSX]: { schema: { type: 'string', format: 'binary', description: BOOK } },
  };
  operation.parameters = [...(operation.parameters ?? []), { ...PARAMETER }];
  declareHeaders(operation, ['200'], 'Trailer', 'Content-Disposition');
};
