import { isUtf8 } from 'node:buffer';
import { ProblemError } from '../../../common/api/problem.js';

/** Largest upload, 512 MB: two months at one sample per second. */
export const UPLOAD_LIMIT_BYTES = 512 * 1024 * 1024;

/** Longest line. */
const LINE_LIMIT_BYTES = 64 * 1024;

/** Lines passed on at once: a chunk may contain tens of thousands of short ones, and the consumer yields between groups. */
const LINES_AT_ONCE = 1000;

const NEWLINE = 0x0a;

/** A line of the upload: its text, or why it cannot be read. */
export type Line = { number: number } & ({ text: string; fault?: undefined } | { fault: string });

export const tooLarge = (limitBytes: number): ProblemError =>
  new ProblemError(
    'too_large',
    `The upload is larger than ${limitBytes / 1024 / 1024} MB: split it. What was stored before its end is kept, and may be sent again.`,
  );

/**
 * The lines of an upload, in groups as they arrive; memory does not grow with the upload. A line that is too long or not UTF-8 is
 * reported as such, and reading continues with the next.
 * @throws ProblemError too_large beyond the limit
 */
export async function* linesOf(
  pieces: AsyncIterable<Buffer>,
  limitBytes = UPLOAD_LIMIT_BYTES,
): AsyncGenerator<Line[]> {
  let bytes = 0;
  let number = 0;
  let rest: Buffer = Buffer.alloc(0);
  let isTooLong = false;
  const read = (line: Buffer): Line => {
    number += 1;
    if (isTooLong || line.length > LINE_LIMIT_BYTES) {
      isTooLong = false;
      return { number, fault: `the line is longer than ${LINE_LIMIT_BYTES / 1024} KB` };
    }
    if (!isUtf8(line)) return { number, fault: 'the line is not UTF-8' };
    const text = line.toString('utf8');
    return { number, text: (number === 1 ? text.replace(/^\ufeff/, '') : text).replace(/\r$/, '') };
  };
  for await (const piece of pieces) {
    bytes += piece.length;
    if (bytes > limitBytes) throw tooLarge(limitBytes);
    let lines: Line[] = [];
    let start = 0;
    for (let end = piece.indexOf(NEWLINE); end >= 0; end = piece.indexOf(NEWLINE, start)) {
      const own = piece.subarray(start, end);
      lines.push(read(rest.length > 0 ? Buffer.concat([rest, own]) : own));
      rest = Buffer.alloc(0);
      start = end + 1;
      if (lines.length === LINES_AT_ONCE) {
        yield lines;
        lines = [];
      }
    }
    const open = piece.subarray(start);
    if (isTooLong || rest.length + open.length > LINE_LIMIT_BYTES) {
      isTooLong = true;
      rest = Buffer.alloc(0);
    } else rest = Buffer.concat([rest, open]);
    if (lines.length > 0) yield lines;
  }
  if (rest.length > 0 || isTooLong) yield [read(rest)];
}

/** The pieces of a body. @throws ProblemError malformed when it is truncated */
export async function* piecesOf(stream: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
  try {
    yield* stream;
  } catch (error) {
    if (error instanceof ProblemError) throw error;
    throw new ProblemError('malformed', `The body is incomplete: ${(error as Error).message}`);
  }
}
