import { createHash } from 'node:crypto';
import type { ServerResponse } from 'node:http';
import { pipeline, type Readable, Transform } from 'node:stream';
import type { FastifyReply, onSendHookHandler } from 'fastify';

/** The trailers that follow the last line of a table (RFC 9110, section 6.5). */
const TRAILER = 'content-digest, x-row-count';

/** Number of rows written to an answer so far. */
type Rows = () => number;

const counted = new WeakMap<FastifyReply, Rows>();

/** The answer ends with trailers: the digest of its bytes (RFC 9530) and the number of its rows. */
export const endWithTrailers = (reply: FastifyReply, rows: Rows): void => {
  counted.set(reply, rows);
};

/** Hashes the bytes as they are sent, compressed or not. */
class Digesting extends Transform {
  private readonly digest = createHash('sha256');

  constructor(
    private readonly raw: ServerResponse,
    private readonly rows: Rows,
  ) {
    super();
  }

  override _transform(chunk: Buffer, _encoding: BufferEncoding, done: () => void): void {
    this.digest.update(chunk);
    this.push(chunk);
    done();
  }

  override _flush(done: () => void): void {
    this.raw.addTrailers({
      'content-digest': `sha-256=:${this.digest.digest('base64')}:`,
      'x-row-count': String(this.rows()),
    });
    done();
  }
}

/** Must run after everything else that changes the bytes of an answer. */
export const addTrailers: onSendHookHandler = (_request, reply, payload, done) => {
  const rows = counted.get(reply);
  if (!rows || typeof (payload as Readable | null)?.pipe !== 'function') {
    done();
    return;
  }
  void reply.header('trailer', TRAILER); // chunked answers only: not a failure, nor HEAD
  const digesting = new Digesting(reply.raw, rows);
  pipeline(payload as unknown as Readable, digesting, () => undefined);
  done(null, digesting as never);
};
