import { isUtf8 } from 'node:buffer';
import type { Multipart, MultipartFile } from '@fastify/multipart';
import type { FastifyRequest } from 'fastify';
import { FIELD_LIMIT_BYTES, fieldText, fieldTooLarge, givenTwice, HEADER_LIMITS } from './multipart.js';
import { faulty, type ProblemError } from './problem.js';

const faultOf = (part: string, detail: string, value?: unknown): ProblemError =>
  faulty('invalid', [{ in: 'body', pointer: part && `/${part}`, value, detail }]);

const assertKnown = (part: Multipart, known: readonly string[]): void => {
  const name = part.fieldname as string | undefined;
  if (name === undefined) throw faultOf('', 'a part of the form has no name');
  if (!known.includes(name))
    throw faultOf(
      name,
      `property ${name} should not exist; allowed are ${known.join(', ')}`,
      part.type === 'field' ? part.value : undefined,
    );
};

/** The text of a field sent as a file, such as a map. */
const textOf = async ({ fieldname, file }: MultipartFile): Promise<string> => {
  const pieces: Buffer[] = [];
  let bytes = 0;
  for await (const piece of file as AsyncIterable<Buffer>) {
    bytes += piece.length;
    if (bytes <= FIELD_LIMIT_BYTES) pieces.push(piece);
  }
  if (bytes > FIELD_LIMIT_BYTES) throw fieldTooLarge(fieldname);
  const text = Buffer.concat(pieces);
  if (!isUtf8(text)) throw faultOf(fieldname, `${fieldname} is not text in UTF-8`);
  return text.toString('utf8');
};

const fieldOf = async (part: Multipart): Promise<string> => {
  if (part.type === 'file') return textOf(part);
  if (part.valueTruncated) throw fieldTooLarge(part.fieldname);
  return fieldText(part.fieldname, part.value);
};

export interface DeclaredForm {
  /** names of the fields beside the file */
  fields: readonly string[];
  /** how much of the file is read [byte] */
  fileSize: number;
  /** how curl sends the form, for whoever sent it otherwise */
  example: string;
}

/** A form with one large file, which is read as a stream, and fields on either side of it. */
export class StreamedForm {
  private readonly fields = new Map<string, string>();
  private hasFile = false;

  constructor(
    private readonly request: FastifyRequest,
    private readonly declared: DeclaredForm,
  ) {}

  /** The fields read so far; an empty one counts as absent. */
  get given(): Record<string, string> {
    return Object.fromEntries([...this.fields].filter(([, value]) => value !== ''));
  }

  /**
   * The file, for the caller to read before it goes on to the fields behind it.
   * @throws ProblemError for a part that is unknown or given twice, a field that is too large and a file sent as a field
   */
  async *file(): AsyncGenerator<MultipartFile, void> {
    const { fileSize, example } = this.declared;
    const limits = {
      fileSize,
      fieldSize: FIELD_LIMIT_BYTES,
      files: 4,
      fields: 20,
      parts: 24,
      ...HEADER_LIMITS,
    };
    for await (const part of this.request.parts({ limits })) {
      const { fieldname } = part;
      if (fieldname !== 'file') await this.keep(part);
      else if (part.type !== 'file') throw faultOf(fieldname, `file must be sent as a file: curl ${example}`);
      else if (this.hasFile) throw givenTwice(fieldname);
      else {
        this.hasFile = true;
        yield part;
      }
    }
  }

  private async keep(part: Multipart): Promise<void> {
    assertKnown(part, [...this.declared.fields, 'file']);
    if (this.fields.has(part.fieldname)) throw givenTwice(part.fieldname);
    this.fields.set(part.fieldname, await fieldOf(part));
  }
}
