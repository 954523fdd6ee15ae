import type { MultipartFile } from '@fastify/multipart';
import type { FastifyRequest } from 'fastify';
import { fieldText, HEADER_LIMITS, unreadableForm } from '../../../common/api/multipart.js';
import { type Fault, faulty, ProblemError } from '../../../common/api/problem.js';
import { UPLOAD_LIMIT_BYTES } from './sample-lines.js';

/** The parts of the form before the table, and the table still unread. */
export interface OpenForm {
  fields: Map<string, string>;
  file: MultipartFile['file'];
}

const FIELD_LIMIT_BYTES = 64 * 1024;
const LIMITS = {
  fileSize: UPLOAD_LIMIT_BYTES + 1, // one byte above the limit, so that the reader can report that it is too large
  fieldSize: FIELD_LIMIT_BYTES,
  files: 4,
  fields: 10,
  parts: 14,
  ...HEADER_LIMITS,
};

/** Form fields that may precede the file. */
const FIELDS = ['map', 'delimiter'];

const at = (part: string, detail: string): Fault => ({ in: 'body', pointer: `/${part}`, detail });

const smallFile = async ({ fieldname, file }: MultipartFile): Promise<string> => {
  const pieces: Buffer[] = [];
  let bytes = 0;
  for await (const piece of file as AsyncIterable<Buffer>) {
    bytes += piece.length;
    if (bytes <= FIELD_LIMIT_BYTES) pieces.push(piece);
  }
  if (bytes <= FIELD_LIMIT_BYTES) return Buffer.concat(pieces).toString('utf8');
  throw faulty('too_large', [at(fieldname, `${fieldname} is larger than ${FIELD_LIMIT_BYTES / 1024} KB`)]);
};

/**
 * Reads a form up to its file. The file is streamed, so the fields that say how to read it must come first.
 * @throws ProblemError for parts that are missing, unknown or given twice
 */
export const openForm = async (request: FastifyRequest): Promise<OpenForm> => {
  try {
    return await formOf(request.parts({ limits: LIMITS }));
  } catch (error) {
    throw unreadableForm(error);
  }
};

const formOf = async (parts: ReturnType<FastifyRequest['parts']>): Promise<OpenForm> => {
  const fields = new Map<string, string>();
  for await (const part of parts) {
    const { fieldname, type } = part;
    if (fieldname === 'file') {
      if (type !== 'file')
        throw faulty('invalid', [
          at('file', 'file must be sent as a file: curl -F map=@map.json -F file=@samples.csv'),
        ]);
      if (!fields.has('map'))
        throw faulty('invalid', [at('map', 'map is missing: it must come before the file in the form')]);
      return { fields, file: part.file };
    }
    const known = FIELDS.includes(fieldname);
    if (!known || fields.has(fieldname)) {
      const detail = known ? `${fieldname} is given twice` : `property ${fieldname} should not exist`;
      throw faulty('invalid', [at(fieldname, detail)]);
    }
    if (type === 'field' && part.valueTruncated)
      throw faulty('too_large', [
        at(fieldname, `${fieldname} is larger than ${FIELD_LIMIT_BYTES / 1024} KB`),
      ]);
    if (type === 'file') fields.set(fieldname, await smallFile(part));
    else fields.set(fieldname, fieldText(fieldname, part.value));
  }
  throw faulty('invalid', [at('file', 'file is missing')]);
};

/** @throws ProblemError too_large when the request's Content-Length already exceeds the limit */
export const assertUploadLength = ({ headers }: FastifyRequest): void => {
  if (Number(headers['content-length'] ?? 0) <= UPLOAD_LIMIT_BYTES) return;
  throw new ProblemError(
    'too_large',
    `The upload is larger than ${UPLOAD_LIMIT_BYTES / 1024 / 1024} MB: split it; nothing was read.`,
  );
};
