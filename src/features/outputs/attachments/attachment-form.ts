import type { FastifyRequest } from 'fastify';
import { InputPipe } from '../../../common/api/input.pipe.js';
import { unreadableForm } from '../../../common/api/multipart.js';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { propertiesOf } from '../../../common/api/properties.js';
import { StreamedForm } from '../../../common/api/streamed-form.js';
import { AttachmentInput } from './attachment.models.js';
import type { AttachmentFiles, Received } from './attachment-files.js';
import { readFileName } from './file-name.js';
import { readMediaType } from './media-type.js';

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
  private readonly form: StreamedForm;
  file?: Received;
  private fileName?: string;

  constructor(
    request: FastifyRequest,
    private readonly files: AttachmentFiles,
  ) {
    this.form = new StreamedForm(request, {
      fields: [...propertiesOf(AttachmentInput)],
      fileSize: files.limitBytes,
      example: '-F file=@photo.jpg',
    });
  }

  /** Reads the parts in any order, the file to disk. @throws ProblemError for invalid parts */
  async read(): Promise<void> {
    for await (const { filename, file } of this.form.file()) {
      this.fileName = filename;
      this.file = await this.files.receive(file);
      if (file.truncated) throw faulty('too_large', [at('file', this.files.tooLarge)]);
    }
  }

  /** @throws ProblemError with the faults of its parts */
  async whole(): Promise<ReadForm> {
    const input = (await new InputPipe().transform(this.form.given, {
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
  const form = new OpenForm(request, files);
  try {
    await form.read().catch((error: unknown) => {
      throw unreadableForm(error);
    });
    return await work(await form.whole());
  } finally {
    if (form.file) await files.discard(form.file.path);
  }
};
