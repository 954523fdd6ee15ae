import { Readable } from 'node:stream';
import { setImmediate } from 'node:timers/promises';

/** Longer texts are written in pieces. [characters] */
export const PIECE = 256 * 1024;

const isLeadingSurrogate = (code: number): boolean => code >= 0xd800 && code < 0xdc00;

/** The text as bytes, piece by piece, so that other work on the event loop runs in between. */
export const inPieces = (text: string): Readable =>
  Readable.from(
    (async function* () {
      for (let at = 0; at < text.length;) {
        let end = Math.min(at + PIECE, text.length);
        if (isLeadingSurrogate(text.charCodeAt(end - 1))) end += 1; // do not split a surrogate pair
        yield Buffer.from(text.slice(at, end));
        at = end;
        await setImmediate();
      }
    })(),
    { objectMode: false },
  );
