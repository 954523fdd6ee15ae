import { isUtf8 } from 'node:buffer';
import { type Encoding, ENCODINGS, oneOfForms, refused } from './forms.js';

const MARKS: [Encoding, Buffer][] = [
  ['utf-8', Buffer.from([0xef, 0xbb, 0xbf])],
  ['utf-16le', Buffer.from([0xff, 0xfe])],
  ['utf-16be', Buffer.from([0xfe, 0xff])],
];

/**
 * Characters of the bytes 0x80 to 0x9F in windows-1252 (Unicode mapping table cp1252); blank where it has none, which text of another
 * code page has. Node 20 decodes windows-1252 as Latin-1, which has control characters there.
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

/** The first line that is not UTF-8; a line's end is never part of a longer character. */
const foreignLine = (file: Buffer): number => {
  for (let line = 1, start = 0; start < file.length; line += 1) {
    const end = file.indexOf(0x0a, start);
    if (!isUtf8(file.subarray(start, end < 0 ? file.length : end))) return line;
    if (end < 0) break;
    start = end + 1;
  }
  return 1;
};

/** UTF-16 without a mark: a separator, a digit or a Latin letter has a zero as its other byte. */
const unmarked16 = (file: Buffer): Encoding | undefined => {
  if (file.length % 2 !== 0) return undefined;
  const zeros = [0, 0];
  const size = Math.min(file.length, SAMPLE_BYTES);
  for (let at = 0; at < size; at += 1) if (file[at] === 0) zeros[at % 2] = (zeros[at % 2] ?? 0) + 1;
  const [even = 0, odd = 0] = zeros;
  if (odd > size / 4 && even < odd / 8) return 'utf-16le';
  if (even > size / 4 && odd < even / 8) return 'utf-16be';
  return undefined;
};

const found = (file: Buffer): Encoding => {
  const marked = MARKS.find(([, mark]) => file.subarray(0, mark.length).equals(mark));
  if (marked) return marked[0];
  if (file.includes(0)) return unmarked16(file) ?? 'utf-8'; // refused below: no text has a zero byte
  return isUtf8(file) ? 'utf-8' : 'windows-1252';
};

const SAVE = 'save the table as CSV in UTF-8';

/**
 * The text of a file.
 * @param declared  its encoding; found by its byte order mark and its bytes when absent
 * @throws ProblemError invalid for bytes that are no text in that encoding
 */
export const decode = (file: Buffer, declared?: string): { text: string; encoding: Encoding } => {
  const wanted = oneOfForms('encoding', declared, ENCODINGS);
  const seen = found(file);
  const isMarked = MARKS.some(([, mark]) => file.subarray(0, mark.length).equals(mark));
  if (wanted !== undefined && isMarked && wanted !== seen)
    throw refused('/encoding', declared, `the file begins with the byte order mark of ${seen}`);
  const encoding = wanted ?? seen;
  if (encoding === 'utf-8' && !isUtf8(file))
    throw refused('/file', undefined, `the file is not UTF-8, from line ${foreignLine(file)} on: ${SAVE}`);
  if (encoding === 'windows-1252') {
    const at = file.findIndex((byte) => NO_CHARACTER.has(byte));
    if (at >= 0) {
      const line = file.subarray(0, at).filter((byte) => byte === 0x0a).length + 1;
      throw refused(
        '/file',
        undefined,
        `the file is neither UTF-8 nor windows-1252, see line ${line}: ${SAVE}`,
      );
    }
  }
  const isWide = encoding.startsWith('utf-16');
  if (isWide && file.length % 2 !== 0)
    throw refused('/file', undefined, `the file is not ${encoding}: it has an odd number of bytes`);
  let text: string;
  try {
    text =
      encoding === 'windows-1252'
        ? windows1252(file)
        : new TextDecoder(encoding, { fatal: true }).decode(file);
  } catch {
    throw refused('/file', undefined, `the file is not ${encoding}: ${SAVE}`);
  }
  if (text.includes('\0'))
    throw refused('/file', undefined, `the file contains NUL bytes and is not text: ${SAVE}`);
  return { text: text.replaceAll(/\r\n?/g, '\n'), encoding };
};
