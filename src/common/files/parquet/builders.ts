import * as arrow from 'apache-arrow';
import { DoesNotFit, writeDecimal } from './decimal.js';
import type { ParquetType } from './types.js';

/** From 1970, the epoch of Parquet, to 2000, that of PostgreSQL. */
const EPOCH_DAYS = 10_957;
const EPOCH_MICROSECONDS = 946_684_800_000_000n;

/** PostgreSQL's infinite dates, which Parquet does not have. */
const [LAST_DAY, FIRST_DAY] = [0x7fffffff, -0x80000000];
const [LAST_MOMENT, FIRST_MOMENT] = [0x7fffffffffffffffn, -0x8000000000000000n];

/** Converts values of one column from PostgreSQL's binary format to Arrow's memory layout, one batch at a time. */
export abstract class Builder {
  private valid: Uint8Array;
  private nulls = 0;
  protected count = 0;

  constructor(
    readonly type: arrow.DataType,
    protected readonly capacity: number,
  ) {
    this.valid = new Uint8Array(capacity >> 3);
  }

  /** @throws DoesNotFit for a value that the type does not hold */
  add(bytes: Buffer, at: number, length: number): void {
    this.put(bytes, at, length);
    this.valid[this.count >> 3] = (this.valid[this.count >> 3] as number) | (1 << (this.count & 7));
    this.count += 1;
  }

  addNull(): void {
    this.skip();
    this.nulls += 1;
    this.count += 1;
  }

  /** The values so far; starts another batch. */
  take(): arrow.Data {
    const data = arrow.makeData({
      type: this.type,
      length: this.count,
      nullCount: this.nulls,
      nullBitmap: this.nulls > 0 ? this.valid : undefined,
      ...this.buffers(),
    } as never) as arrow.Data;
    this.valid = new Uint8Array(this.capacity >> 3);
    [this.count, this.nulls] = [0, 0];
    return data;
  }

  /** Memory that grows with the number of values. [bytes] */
  get size(): number {
    return 0;
  }

  protected abstract put(bytes: Buffer, at: number, length: number): void;
  protected abstract buffers(): object;
  protected skip(): void {
    // leaves its place unchanged
  }
}

type Numbers = Int32Array | Float64Array | BigInt64Array | Uint32Array | Uint8Array;

/** Values of fixed size. */
class Fixed<T extends Numbers> extends Builder {
  private values: T;

  constructor(
    type: arrow.DataType,
    capacity: number,
    private readonly make: () => T,
    private readonly write: (values: T, index: number, bytes: Buffer, at: number) => void,
  ) {
    super(type, capacity);
    this.values = make();
  }

  protected put(bytes: Buffer, at: number): void {
    this.write(this.values, this.count, bytes, at);
  }

  protected buffers(): object {
    const data = this.values;
    this.values = this.make();
    return { data };
  }
}

/** Text in UTF-8. */
class Texts extends Builder {
  private offsets: Int32Array;
  private bytes = Buffer.alloc(64 * 1024);
  private used = 0;

  constructor(capacity: number) {
    super(new arrow.Utf8(), capacity);
    this.offsets = new Int32Array(capacity + 1);
  }

  protected put(bytes: Buffer, at: number, length: number): void {
    if (this.used + length > this.bytes.length) {
      const larger = Buffer.alloc(Math.max(2 * this.bytes.length, this.used + length));
      this.bytes.copy(larger, 0, 0, this.used);
      this.bytes = larger;
    }
    bytes.copy(this.bytes, this.used, at, at + length);
    this.used += length;
    this.offsets[this.count + 1] = this.used;
  }

  protected override skip(): void {
    this.offsets[this.count + 1] = this.used;
  }

  protected buffers(): object {
    const data = Uint8Array.prototype.slice.call(this.bytes, 0, this.used);
    const valueOffsets = this.offsets.slice(0, this.count + 1);
    this.used = 0;
    return { data, valueOffsets };
  }

  override get size(): number {
    return this.used;
  }
}

const moment = (values: BigInt64Array, index: number, bytes: Buffer, at: number): void => {
  const value = bytes.readBigInt64BE(at);
  if (value === LAST_MOMENT || value === FIRST_MOMENT) throw new DoesNotFit('is infinite');
  values[index] = value + EPOCH_MICROSECONDS;
};

/** @param capacity  rows per batch, a multiple of 8 */
export const builderOf = (type: ParquetType, capacity: number): Builder => {
  const big = () => new BigInt64Array(capacity);
  switch (type.kind) {
    case 'boolean':
      return new Fixed(
        new arrow.Bool(),
        capacity,
        () => new Uint8Array(capacity >> 3),
        (values, index, bytes, at) => {
          if (bytes[at] === 1) values[index >> 3] = (values[index >> 3] as number) | (1 << (index & 7));
        },
      );
    case 'int32':
      return new Fixed(
        new arrow.Int32(),
        capacity,
        () => new Int32Array(capacity),
        (values, index, bytes, at) => {
          values[index] = bytes.readInt32BE(at);
        },
      );
    case 'int64':
      return new Fixed(new arrow.Int64(), capacity, big, (values, index, bytes, at) => {
        values[index] = bytes.readBigInt64BE(at);
      });
    case 'double':
      return new Fixed(
        new arrow.Float64(),
        capacity,
        () => new Float64Array(capacity),
        (values, index, bytes, at) => {
          values[index] = bytes.readDoubleBE(at);
        },
      );
    case 'date':
      return new Fixed(
        new arrow.DateDay(),
        capacity,
        () => new Int32Array(capacity),
        (values, index, bytes, at) => {
          const value = bytes.readInt32BE(at);
          if (value === LAST_DAY || value === FIRST_DAY) throw new DoesNotFit('is infinite');
          values[index] = value + EPOCH_DAYS;
        },
      );
    case 'instant':
      return new Fixed(new arrow.TimestampMicrosecond('UTC'), capacity, big, moment);
    case 'local':
      return new Fixed(new arrow.TimestampMicrosecond(), capacity, big, moment);
    case 'decimal':
      return new Fixed(
        new arrow.Decimal(type.scale, type.precision, 128),
        capacity,
        () => new Uint32Array(4 * capacity),
        (values, index, bytes, at) => writeDecimal(bytes, at, type, values, 4 * index),
      );
    case 'text':
      return new Texts(capacity);
  }
};
