import type { MultipartFile } from '@fastify/multipart';
import type { FastifyRequest } from 'fastify';
import { unreadableForm } from '../../../common/api/multipart.js';
import { type Fault, faulty, ProblemError } from '../../../common/api/problem.js';
import { type DeclaredForm, StreamedForm } from '../../../common/api/streamed-form.js';
import { UPLOAD_LIMIT_BYTES } from './sample-lines.js';

/** The fields of the form, and the table still unread. */
export interface OpenForm {
  map: string;
  delimiter: string | undefined;
  /** the file, at whose end the rest of the form is read: ProblemError if anything follows */
  file: AsyncIterable<Buffer>;
}

const FORM: DeclaredForm = {
  fields: ['map', 'delimiter'],
  fileSize: UPLOAD_LIMIT_BYTES + 1, // one byte above the limit, so that the reader can report that the file is too large
  example: '-F map=@map.json -F file=@samples.csv',
};

const at = (part: string, detail: string): Fault => ({ in: 'body', pointer: `/${part}`, detail });

/**
 * Reads a form up to its file. The file is streamed, so the fields that say how to read it must come first.
 * @throws ProblemError for parts that are missing, unknown or given twice
 */
export const openForm = async (request: FastifyRequest): Promise<OpenForm> => {
  try {
    return await formOf(new StreamedForm(request, FORM));
  } catch (error) {
    throw unreadableForm(error);
  }
};

const formOf = async (form: StreamedForm): Promise<OpenForm> => {
  const files = form.file();
  const { value: part } = await files.next();
  if (!part) throw faulty('invalid', [at('file', 'file is missing')]);
  const { map, delimiter } = form.given;
  if (map === undefined)
    throw faulty('invalid', [at('map', 'map is missing: it must come before the file in the form')]);
  return { map, delimiter, file: wholeOf(part, form, files) };
};

async function* wholeOf(
  { file }: MultipartFile,
  form: StreamedForm,
  files: AsyncIterator<MultipartFile>,
): AsyncGenerator<Buffer, void> {
  const before = Object.keys(form.given);
  yield* file.iterator({ destroyOnReturn: false }) as AsyncIterable<Buffer>;
  await files.next().catch((error: unknown) => {
    throw unreadableForm(error);
  });
  const late = Object.keys(form.given).filter((name) => !before.includes(name));
  if (late.length > 0)
    throw faulty(
      'invalid',
      late.map((name) => at(name, `${name} came after the file: it must come before it in the form`)),
    );
}

/** @throws ProblemError too_large when the request's Content-Length already exceeds the limit */
export const assertUploadLength = ({ headers }: FastifyRequest): void => {
  if (Number(headers['content-length'] ?? 0) <= UPLOAD_LIMIT_BYTES) return;
  throw new ProblemError(
    'too_large',
    `The upload is larger than ${UPLOAD_LIMIT_BYTES / 1024 / 1024} MB: split it; nothing was read.`,
  );
};
