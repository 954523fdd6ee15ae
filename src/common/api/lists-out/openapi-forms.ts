import type { OpenAPIObject } from '@nestjs/swagger';
import { CSV } from '../../files/csv.js';
import { declareHeaders } from '../openapi-headers.js';
import { NDJSON } from '../streamed.js';

type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;

const LINES =
  'One entry of the JSON list per line; all entries, unless `first` asks for a page. The last line has only the property `$end`: `count` of the entries, and `digest`, the SHA-256 of all bytes before that line (as in RFC 9530). Without it the answer is incomplete.';

const TABLE =
  'A heading line with the names of the JSON properties, then one entry per line (RFC 4180); all entries, unless `first` asks for a page. A property of a nested object is a column `object.property`, a nested list is JSON in its cell, an empty cell is null. Text that a spreadsheet would run as a formula is prefixed with an apostrophe; numbers are as in JSON; text is in double quotes, whatever its form. Trailers show whether the table is complete.';

/** Declares the formats of a list other than JSON. */
export const declareForms = (operation: Operation): void => {
  const { 200: answer } = operation.responses;
  if (!answer || '$ref' in answer) return;
  answer.content = {
    ...answer.content,
    [NDJSON]: { schema: { type: 'string', description: LINES } },
    [CSV]: { schema: { type: 'string', description: TABLE } },
  };
  declareHeaders(operation, ['200'], 'Trailer');
};
