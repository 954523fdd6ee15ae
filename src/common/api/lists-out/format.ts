import type { FastifyRequest } from 'fastify';
import { CSV } from '../../files/csv.js';
import { XLSX } from '../../files/xlsx.js';
import { acceptOnly } from '../acceptable.js';
import { JSON_TYPE } from '../content-types.js';
import { faulty } from '../problem.js';
import { NDJSON } from '../streamed.js';

/** The query parameter that every list takes beside its own. */
export const FORMAT = 'format';

const TYPES = new Map([
  ['json', JSON_TYPE],
  ['ndjson', NDJSON],
  ['csv', CSV],
  ['xlsx', XLSX],
]);

/** The formats of a list, as the parameter names them. */
export const FORMATS = [...TYPES.keys()];

/** Takes the format out of the query of a list: from here on the request accepts only the type that it names. */
export const takeFormat = (request: FastifyRequest): void => {
  const query = request.query as Record<string, unknown>;
  if (!Object.hasOwn(query, FORMAT)) return;
  const { [FORMAT]: format } = query;
  const type = TYPES.get(format as string);
  if (type === undefined) {
    const detail = `${FORMAT} must be one of the following values: ${FORMATS.join(', ')}`;
    throw faulty('invalid', [{ in: 'query', pointer: `/${FORMAT}`, value: format, detail }]);
  }
  delete query[FORMAT];
  acceptOnly(request, type);
};
