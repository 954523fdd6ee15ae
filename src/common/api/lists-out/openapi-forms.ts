import type { OpenAPIObject } from '@nestjs/swagger';
import { CSV } from '../../files/csv.js';
import { declareHeaders } from '../openapi-headers.js';
import { NDJSON } from '../streamed.js';

type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;

const LINES =
  'An entry of the JSON list a line; all of them, unless `first` asks for a page. The last line has the property `$end` alone: `count` of the entries, and `digest`, the SHA-256 of all bytes before that line (as in RFC 9530). Without it the answer is cut.';

const TABLE =
  'A heading line with the names of the JSON properties, then an entry a line (RFC 4180); all of them, unless `first` asks for a page. What is in an object is a column `object.property`, a list is JSON in its cell, nothing is null. Text that a spreadsheet would run as a formula has an apostrophe before it; numbers are as in JSON. Trailers tell a whole table from a cut one.';

/** The forms in which a list is answered beside JSON. */
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
