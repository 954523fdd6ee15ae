/** The format of COPY … (format binary): a signature, flags and the length of an extension; then rows; then -1. */
const SIGNATURE = Buffer.from('PGCOPY\n\xff\r\n\0', 'latin1');
const HEADER = SIGNATURE.length + 8;
const NONE = -1;

/** The fields of one row: for each, where it begins in the bytes, and its length; -1: null. */
export interface Fields {
  bytes: Buffer;
  starts: Int32Array;
  lengths: Int32Array;
}

/** Finds the rows in COPY's binary output, which arrives in arbitrary chunks. */
export class CopiedRows {
  private rest: Buffer = Buffer.alloc(0);
  private hasBegun = false;
  private readonly fields: Fields;

  constructor(private readonly width: number) {
    this.fields = { bytes: this.rest, starts: new Int32Array(width), lengths: new Int32Array(width) };
  }

  /** Upper bound on the size of the fields in another chunk. [bytes] */
  mostBytes(piece: Buffer): number {
    return this.rest.length + piece.length;
  }

  /** The complete rows of another chunk. Each must be read before the next is requested. */
  *rows(piece: Buffer): Generator<Fields, void> {
    const bytes = this.rest.length === 0 ? piece : Buffer.concat([this.rest, piece]);
    let at = 0;
    if (!this.hasBegun) {
      if (bytes.length < HEADER) {
        this.rest = bytes;
        return;
      }
      if (!bytes.subarray(0, SIGNATURE.length).equals(SIGNATURE))
        throw new Error('PostgreSQL sent no binary COPY.');
      this.hasBegun = true;
      at = HEADER + bytes.readInt32BE(HEADER - 4);
    }
    this.fields.bytes = bytes;
    for (let next = this.read(bytes, at); next > 0; next = this.read(bytes, at)) {
      at = next;
      yield this.fields;
    }
    this.rest = bytes.subarray(at);
  }

  /** Offset of the next row; 0: the row is incomplete, or there is none. */
  private read(bytes: Buffer, start: number): number {
    const { starts, lengths } = this.fields;
    let at = start + 2;
    if (at > bytes.length || bytes.readInt16BE(start) === NONE) return 0;
    for (let field = 0; field < this.width; field += 1) {
      if (at + 4 > bytes.length) return 0;
      const length = bytes.readInt32BE(at);
      at += 4;
      starts[field] = at;
      lengths[field] = length;
      if (length > 0) at += length;
      if (at > bytes.length) return 0;
    }
    return at;
  }
}
