import type { MultipartFile } from '@fastify/multipart';
import type { FastifyRequest } from 'fastify';
import { unreadableForm } from '../../../common/api/multipart.js';
import { type Fault, faulty, ProblemError } from '../../../common/api/problem.js';
import { StreamedForm } from '../../../common/api/streamed-form.js';
import { UPLOAD_LIMIT_BYTES } from './sample-lines.js';

/** The parts of the form before the table, and the table still unread. */
export interface OpenForm {
  map: string;
  delimiter: string | undefined;
  file: MultipartFile['file'];
}

/** One byte above the limit, so that the reader can report that the file is too large. */
const FILE_BYTES = UPLOAD_LIMIT_BYTES + 1;

/** Form fields that may precede the file. */
const FIELDS = ['map', 'delimiter'];

const at = (part: string, detail: string): Fault => ({ in: 'body', pointer: `/${part}`, detail });

/**
 * Reads a form up to its file. The file is streamed, so the fields that say how to read it must come first.
 * @throws ProblemError for parts that are missing, unknown or given twice
 */
export const openForm = async (request: FastifyRequest): Promise<OpenForm> => {
  try {
    return await formOf(new StreamedForm(request, FILE_BYTES, '-F map=@map.json -F file=@samples.csv'));
  } catch (error) {
    throw unreadableForm(error);
  }
};

const formOf = async (form: StreamedForm): Promise<OpenForm> => {
  for await (const { file } of form.file()) {
    assertKnown(form.given);
    const { map, delimiter } = form.given;
    if (map === undefined)
      throw faulty('invalid', [at('map', 'map is missing: it must come before the file in the form')]);
    return { map, delimiter, file };
  }
  assertKnown(form.given);
  throw faulty('invalid', [at('file', 'file is missing')]);
};

const assertKnown = (fields: Record<string, string>): void => {
  const unknown = Object.keys(fields).filter((name) => !FIELDS.includes(name));
  if (unknown.length > 0)
    throw faulty(
      'invalid',
      unknown.map((name) => at(name, `property ${name} should not exist`)),
    );
};

/** @throws ProblemError too_large when the request's Content-Length already exceeds the limit */
export const assertUploadLength = ({ headers }: FastifyRequest): void => {
  if (Number(headers['content-length'] ?? 0) <= UPLOAD_LIMIT_BYTES) return;
  throw new ProblemError(
    'too_large',
    `The upload is larger than ${UPLOAD_LIMIT_BYTES / 1024 / 1024} MB: split it; nothing was read.`,
  );
};
