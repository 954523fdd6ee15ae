import type { MultipartFile, MultipartValue } from '@fastify/multipart';
import type { FastifyRequest } from 'fastify';
import { InputPipe } from '../../../common/api/input.pipe.js';
import { fieldText, HEADER_LIMITS, unreadableForm } from '../../../common/api/multipart.js';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { AttachmentInput } from './attachment.models.js';
import type { AttachmentFiles, Received } from './attachment-files.js';
import { readFileName } from './file-name.js';
import { readMediaType } from './media-type.js';

const FIELD_LIMIT_BYTES = 16 * 1024;

const at = (part: string, detail: string): Fault => ({ in: 'body', pointer: `/${part}`, detail });

/** A completely received form. */
export interface ReadForm {
  input: AttachmentInput;
  file: Received;
  name: string;
  mediaType: string;
}

/** A form being received. */
class OpenForm {
  readonly fields: Record<string, string> = {};
  file?: Received;
  fileName?: string;

  constructor(private readonly files: AttachmentFiles) {}

  /** Reads the parts in any order, the file to disk. @throws ProblemError for invalid parts */
  async read(request: FastifyRequest): Promise<void> {
    const limits = {
      fileSize: this.files.limitBytes,
      fieldSize: FIELD_LIMIT_BYTES,
      files: 4,
      fields: 20,
      parts: 24,
      ...HEADER_LIMITS,
    };
    for await (const part of request.parts({ limits })) {
      if (part.type === 'file') await this.takeFile(part);
      else this.takeField(part);
    }
  }

  private async takeFile({ fieldname, filename, file }: MultipartFile): Promise<void> {
    if (fieldname !== 'file')
      throw faulty('invalid', [at(fieldname, `${fieldname} is not a file part: name the file part "file"`)]);
    if (this.file) throw faulty('invalid', [at('file', 'file is given twice: an attachment is one file')]);
    this.fileName = filename;
    this.file = await this.files.receive(file);
    if (file.truncated) throw faulty('too_large', [at('file', this.files.tooLarge)]);
  }

  private takeField({ fieldname, value, valueTruncated }: MultipartValue): void {
    if (fieldname === 'file')
      throw faulty('invalid', [
        at('file', 'file must be sent as a file, with a name: curl -F file=@photo.jpg'),
      ]);
    if (Object.hasOwn(this.fields, fieldname))
      throw faulty('invalid', [at(fieldname, `${fieldname} is given twice`)]);
    if (valueTruncated)
      throw faulty('too_large', [
        at(fieldname, `${fieldname} is larger than ${FIELD_LIMIT_BYTES / 1024} KB`),
      ]);
    this.fields[fieldname] = fieldText(fieldname, value);
  }

  /** @throws ProblemError with the faults of its parts */
  async whole(): Promise<ReadForm> {
    // an empty form field counts as absent
    const given = Object.fromEntries(Object.entries(this.fields).filter(([, value]) => value !== ''));
    const input = (await new InputPipe().transform(given, {
      type: 'body',
      metatype: AttachmentInput,
    })) as AttachmentInput;
    const { file } = this;
    if (!file) throw faulty('invalid', [at('file', 'file is missing')]);
    if (file.sizeBytes === 0) throw faulty('invalid', [at('file', 'file is empty')]);
    const named = readFileName(this.fileName);
    if ('fault' in named) throw faulty('invalid', [at('file', named.fault)]);
    const read = await readMediaType(named.name, file);
    if ('fault' in read) throw faulty('unsupported_media_type', [at('file', read.fault)]);
    return { input, file, name: named.name, mediaType: read.mediaType };
  }
}

/**
 * Reads the form of an upload and runs the work with it. The received file is deleted after the work unless the work has put it in
 * place, whatever happens.
 * @throws ProblemError with the faults of the form
 */
export const withForm = async <T>(
  request: FastifyRequest,
  files: AttachmentFiles,
  work: (form: ReadForm) => Promise<T>,
): Promise<T> => {
  const form = new OpenForm(files);
  try {
    await form.read(request).catch((error: unknown) => {
      throw unreadableForm(error);
    });
    return await work(await form.whole());
  } finally {
    if (form.file) await files.discard(form.file.path);
  }
};
