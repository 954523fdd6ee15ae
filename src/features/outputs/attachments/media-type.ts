import { fileTypeFromBuffer } from 'file-type';

/** Number of bytes from which a file's signature is recognised. */
export const HEAD_BYTES = 4100;

interface Kind {
  /** file name extensions */
  endings: string[];
  /** media types that its signature may indicate, each with the one that is stored; undefined: text, which has no signature */
  signatures?: Record<string, string>;
  mediaType?: string;
}

const KINDS: Kind[] = [
  { endings: ['jpg', 'jpeg'], signatures: { 'image/jpeg': 'image/jpeg' } },
  { endings: ['png'], signatures: { 'image/png': 'image/png', 'image/apng': 'image/png' } },
  { endings: ['webp'], signatures: { 'image/webp': 'image/webp' } },
  { endings: ['heic', 'heif'], signatures: { 'image/heic': 'image/heic', 'image/heif': 'image/heif' } },
  { endings: ['pdf'], signatures: { 'application/pdf': 'application/pdf' } },
  { endings: ['txt'], mediaType: 'text/plain' },
  { endings: ['csv'], mediaType: 'text/csv' },
];

const ENDINGS = KINDS.flatMap(({ endings }) => endings.map((ending) => `.${ending}`)).join(', ');

/** Text that a browser might interpret as a page or drawing with scripts: HTML, SVG, any XML. */
const MARKUP = /^[\s\ufeff]*<[a-z!?/]/i;

/** Properties of a file's content that indicate its type. */
export interface Content {
  /** the first HEAD_BYTES */
  head: Buffer;
  /** whether all of it is text in UTF-8 without control characters */
  isText: boolean;
}

/**
 * The media type of a file: its extension and its content must agree. The media type stated by the sender is ignored.
 */
export const readMediaType = async (
  name: string,
  { head, isText }: Content,
): Promise<{ mediaType: string } | { fault: string }> => {
  const ending = /\.([^.]+)$/.exec(name)?.[1]?.toLowerCase() ?? '';
  const kind = KINDS.find(({ endings }) => endings.includes(ending));
  if (!kind)
    return { fault: `${name} is not an accepted kind of file: its name must end with one of ${ENDINGS}` };
  if (kind.mediaType !== undefined) {
    if (!isText) return { fault: `${name} must be text in UTF-8 without control characters` };
    return MARKUP.test(head.toString('utf8'))
      ? { fault: `${name} contains markup (HTML, SVG or XML), which is not accepted` }
      : { mediaType: kind.mediaType };
  }
  const signature = await signatureOf(head);
  const mediaType = kind.signatures?.[signature ?? ''];
  if (mediaType !== undefined) return { mediaType };
  const found = signature === undefined ? 'has no known signature' : `is ${signature}`;
  return { fault: `${name} does not match its name: its content ${found}` };
};

const signatureOf = async (head: Buffer): Promise<string | undefined> => {
  try {
    return (await fileTypeFromBuffer(head))?.mime;
  } catch {
    return undefined; // crafted to mislead the detection
  }
};

const CONTROL = /[\u0000-\u0008\u000b\u000e-\u001f\u007f]/;

/** Checks, chunk by chunk, whether a file is text in UTF-8 without control characters. */
export class TextTest {
  private readonly decoder = new TextDecoder('utf-8', { fatal: true });
  private holds = true;

  take(piece: Buffer): void {
    if (this.holds) this.holds = this.reads(piece, true);
  }

  /** Whether everything so far is text. */
  end(): boolean {
    return this.holds && this.reads(Buffer.alloc(0), false);
  }

  private reads(piece: Buffer, stream: boolean): boolean {
    try {
      return !CONTROL.test(this.decoder.decode(piece, { stream }));
    } catch {
      return false;
    }
  }
}

/** The content type to send; for text it includes the encoding. */
export const contentType = (mediaType: string): string =>
  mediaType.startsWith('text/') ? `${mediaType}; charset=utf-8` : mediaType;
