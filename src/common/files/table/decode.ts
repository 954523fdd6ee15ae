import { isUtf8 } from 'node:buffer';
import { type Encoding, ENCODINGS, oneOfForms, refused } from './forms.js';

const MARKS: [Encoding, Buffer][] = [
  ['utf-8', Buffer.from([0xef, 0xbb, 0xbf])],
  ['utf-16le', Buffer.from([0xff, 0xfe])],
  ['utf-16be', Buffer.from([0xfe, 0xff])],
];

/**
 * Characters of the bytes 0x80 to 0x9F in windows-1252 (Unicode mapping table cp1252); blank where undefined, which indicates another
 * code page. Node 20 decodes windows-1252 as Latin-1, which has control characters there.
 */
const HIGH = '€ ‚ƒ„…†‡ˆ‰Š‹Œ Ž  ‘’“”•–—˜™š›œ žŸ';
const NO_CHARACTER = new Set(
  [...HIGH].flatMap((character, index) => (character === ' ' ? [0x80 + index] : [])),
);

const windows1252 = (file: Buffer): string =>
  file
    .toString('latin1')
    .replaceAll(/[\u0080-\u009f]/g, (control) => HIGH[control.charCodeAt(0) - 0x80] ?? control);

const SAMPLE_BYTES = 4096;

const NEWLINE = 0x0a;

const linesIn = (bytes: Buffer): number => {
  let lines = 0;
  for (let at = bytes.indexOf(NEWLINE); at >= 0; at = bytes.indexOf(NEWLINE, at + 1)) lines += 1;
  return lines;
};

/** The first line that is not UTF-8; a line feed byte is never part of a longer character. */
const foreignLine = (file: Buffer): number => {
  for (let line = 1, start = 0; start < file.length; line += 1) {
    const end = file.indexOf(NEWLINE, start);
    if (!isUtf8(file.subarray(start, end < 0 ? file.length : end))) return line;
    if (end < 0) break;
    start = end + 1;
  }
  return 1;
};

/** Number of bytes at the end that begin a UTF-8 character continued in the next chunk. */
const openBytes = (bytes: Buffer): number => {
  for (let back = 1; back <= Math.min(3, bytes.length); back += 1) {
    const byte = bytes[bytes.length - back] ?? 0;
    if (byte < 0x80) return 0;
    if (byte >= 0xc0) return back < (byte >= 0xf0 ? 4 : byte >= 0xe0 ? 3 : 2) ? back : 0;
  }
  return 0;
};

/** UTF-16 without a byte order mark: for a separator, a digit or a Latin letter, the other byte is zero. */
const unmarked16 = (sample: Buffer): Encoding | undefined => {
  const zeros = [0, 0];
  const size = sample.length;
  for (let at = 0; at < size; at += 1) if (sample[at] === 0) zeros[at % 2] = (zeros[at % 2] ?? 0) + 1;
  const [even = 0, odd = 0] = zeros;
  if (odd > size / 4 && even < odd / 8) return 'utf-16le';
  if (even > size / 4 && odd < even / 8) return 'utf-16be';
  return undefined;
};

const SAVE = 'save the table as CSV in UTF-8';

/** Detects the encoding of a file from its bytes, chunk by chunk. */
export class EncodingFinder {
  private sample = Buffer.alloc(0);
  private length = 0;
  private hasZero = false;
  private lines = 0;
  /** bytes of a character that continues in the next chunk */
  private open = Buffer.alloc(0);
  private foreign: number | undefined;

  take(piece: Buffer): void {
    if (this.sample.length < SAMPLE_BYTES)
      this.sample = Buffer.concat([this.sample, piece.subarray(0, SAMPLE_BYTES - this.sample.length)]);
    this.length += piece.length;
    this.hasZero ||= piece.includes(0);
    if (this.foreign !== undefined) return;
    const bytes = this.open.length > 0 ? Buffer.concat([this.open, piece]) : piece;
    const whole = bytes.subarray(0, bytes.length - openBytes(bytes));
    this.open = Buffer.from(bytes.subarray(whole.length));
    if (!isUtf8(whole)) this.foreign = this.lines + foreignLine(whole);
    this.lines += linesIn(whole);
  }

  /**
   * @param declared  its encoding; if absent, detected from its byte order mark and its bytes
   * @throws ProblemError invalid for bytes that are not text in that encoding
   */
  decide(declared?: string): Encoding {
    const wanted = oneOfForms('encoding', declared, ENCODINGS);
    const marked = MARKS.find(([, mark]) => this.sample.subarray(0, mark.length).equals(mark))?.[0];
    if (wanted !== undefined && marked !== undefined && wanted !== marked)
      throw refused('/encoding', declared, `the file begins with the byte order mark of ${marked}`);
    const encoding = wanted ?? marked ?? this.unmarked();
    if (encoding === 'utf-8' && this.foreignLine !== undefined)
      throw refused('/file', undefined, `the file is not UTF-8, from line ${this.foreignLine} on: ${SAVE}`);
    if (encoding.startsWith('utf-16') && this.length % 2 !== 0)
      throw refused('/file', undefined, `the file is not ${encoding}: it has an odd number of bytes`);
    return encoding;
  }

  private get foreignLine(): number | undefined {
    return this.foreign ?? (this.open.length > 0 ? this.lines + 1 : undefined);
  }

  private unmarked(): Encoding {
    if (this.hasZero) return (this.length % 2 === 0 && unmarked16(this.sample)) || 'utf-8'; // UTF-8 is refused: no text has a zero byte
    return this.foreignLine === undefined ? 'utf-8' : 'windows-1252';
  }
}

/** Decodes a file chunk by chunk, with line feeds as line ends. */
export class TextDecoding {
  private readonly decoder?: TextDecoder;
  private lines = 0;
  private isReturnHeld = false;

  constructor(private readonly encoding: Encoding) {
    if (encoding !== 'windows-1252') this.decoder = new TextDecoder(encoding, { fatal: true });
  }

  /** @throws ProblemError invalid for bytes that are not text in the encoding */
  take(piece: Buffer): string {
    return this.tidied(this.decoder ? this.decoded(this.decoder, piece) : this.western(piece));
  }

  /** The rest. @throws ProblemError as above */
  end(): string {
    const text = this.tidied(this.decoder ? this.decoded(this.decoder) : '');
    return this.isReturnHeld ? `${text}\n` : text;
  }

  private decoded(decoder: TextDecoder, piece?: Buffer): string {
    try {
      return decoder.decode(piece, { stream: piece !== undefined });
    } catch {
      throw refused('/file', undefined, `the file is not ${this.encoding}: ${SAVE}`);
    }
  }

  private western(piece: Buffer): string {
    const at = piece.findIndex((byte) => NO_CHARACTER.has(byte));
    if (at >= 0) {
      const line = this.lines + linesIn(piece.subarray(0, at)) + 1;
      throw refused(
        '/file',
        undefined,
        `the file is neither UTF-8 nor windows-1252, see line ${line}: ${SAVE}`,
      );
    }
    this.lines += linesIn(piece);
    return windows1252(piece);
  }

  private tidied(decoded: string): string {
    if (decoded.includes('\0'))
      throw refused('/file', undefined, `the file contains NUL bytes and is not text: ${SAVE}`);
    if (decoded === '') return '';
    const text = this.isReturnHeld ? `\r${decoded}` : decoded;
    this.isReturnHeld = text.endsWith('\r');
    return (this.isReturnHeld ? text.slice(0, -1) : text).replaceAll(/\r\n?/g, '\n');
  }
}

/**
 * The text of a file held in memory.
 * @param declared  its encoding; if absent, detected from its byte order mark and its bytes
 * @throws ProblemError invalid for bytes that are not text in that encoding
 */
export const decode = (file: Buffer, declared?: string): { text: string; encoding: Encoding } => {
  const finder = new EncodingFinder();
  finder.take(file);
  const encoding = finder.decide(declared);
  const decoding = new TextDecoding(encoding);
  return { text: decoding.take(file) + decoding.end(), encoding };
};
