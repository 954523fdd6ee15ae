import { isUtf8 } from 'node:buffer';
import type { Multipart, MultipartFile } from '@fastify/multipart';
import type { FastifyRequest } from 'fastify';
import { FIELD_LIMIT_BYTES, fieldText, fieldTooLarge, givenTwice, HEADER_LIMITS } from './multipart.js';
import { faulty, type ProblemError } from './problem.js';

const INSTEAD = ': send the file as the part named "file"';

const faultOf = (part: string, detail: string): ProblemError =>
  faulty('invalid', [{ in: 'body', pointer: `/${part}`, detail }]);

/** The text of a field sent as a file, such as a map. */
const textOf = async ({ fieldname, file }: MultipartFile): Promise<string> => {
  const pieces: Buffer[] = [];
  let bytes = 0;
  for await (const piece of file as AsyncIterable<Buffer>) {
    bytes += piece.length;
    if (bytes <= FIELD_LIMIT_BYTES) pieces.push(piece);
  }
  if (bytes > FIELD_LIMIT_BYTES) throw fieldTooLarge(fieldname, INSTEAD);
  const text = Buffer.concat(pieces);
  if (!isUtf8(text)) throw faultOf(fieldname, `${fieldname} is not text in UTF-8${INSTEAD}`);
  return text.toString('utf8');
};

const fieldOf = async (part: Multipart): Promise<string> => {
  if (part.type === 'file') return textOf(part);
  if (part.valueTruncated) throw fieldTooLarge(part.fieldname);
  return fieldText(part.fieldname, part.value);
};

/** A form with one large file, which is read as a stream, and fields on either side of it. */
export class StreamedForm {
  private readonly fields = new Map<string, string>();
  private hasFile = false;

  /**
   * @param fileSize  what of the file is read [byte]
   * @param example  how curl sends the file, for whoever sent it otherwise
   */
  constructor(
    private readonly request: FastifyRequest,
    private readonly fileSize: number,
    private readonly example: string,
  ) {}

  /** The fields read so far; an empty one counts as absent. */
  get given(): Record<string, string> {
    return Object.fromEntries([...this.fields].filter(([, value]) => value !== ''));
  }

  /**
   * The file, for the caller to read before it goes on to the fields behind it.
   * @throws ProblemError for a part given twice, a field that is too large and a file sent as a field
   */
  async *file(): AsyncGenerator<MultipartFile, void> {
    const limits = {
      fileSize: this.fileSize,
      fieldSize: FIELD_LIMIT_BYTES,
      files: 4,
      fields: 20,
      parts: 24,
      ...HEADER_LIMITS,
    };
    for await (const part of this.request.parts({ limits })) {
      const { fieldname } = part;
      if (fieldname !== 'file') await this.keep(part);
      else if (part.type !== 'file')
        throw faultOf(fieldname, `file must be sent as a file: curl ${this.example}`);
      else if (this.hasFile) throw givenTwice(fieldname);
      else {
        this.hasFile = true;
        yield part;
      }
    }
  }

  private async keep(part: Multipart): Promise<void> {
    if (this.fields.has(part.fieldname)) throw givenTwice(part.fieldname);
    this.fields.set(part.fieldname, await fieldOf(part));
  }
}
