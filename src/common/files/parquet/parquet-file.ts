import { createHash } from 'node:crypto';
import { type FileHandle, open, rm } from 'node:fs/promises';
import type { ReadableStream } from 'node:stream/web';
import * as arrow from 'apache-arrow';
import * as parquet from 'parquet-wasm';
import { type Builder, builderOf } from './builders.js';
import type { Fields } from '../../database/copied-rows.js';
import { DoesNotFit } from './decimal.js';
import type { ParquetColumn } from './types.js';

/** Rows passed to the writer at once, and rows per row group, for which statistics are kept. */
const BATCH = 16_384;
const ROW_GROUP = 8 * BATCH;

/** Approximate limit on the text of a batch. [bytes] */
const BATCH_BYTES = 4 * 1024 * 1024;

/** A complete file on disk. */
export interface WrittenFile {
  rows: number;
  bytes: number;
  /** SHA-256 of its bytes, in hexadecimal. */
  sha256: string;
}

const propertiesOf = (columns: readonly ParquetColumn[], createdBy: string): parquet.WriterProperties => {
  let builder = new parquet.WriterPropertiesBuilder()
    .setCompression(parquet.Compression.ZSTD)
    .setStatisticsEnabled(parquet.EnabledStatistics.Page)
    .setMaxRowGroupSize(ROW_GROUP)
    .setCreatedBy(createdBy);
  for (const { name, type } of columns)
    if (type.kind === 'instant')
      builder = builder
        .setColumnDictionaryEnabled(name, false)
        .setColumnEncoding(name, parquet.Encoding.DELTA_BINARY_PACKED);
  return builder.build();
};

/** A Parquet file being written batch by batch: its memory does not grow with its rows. */
export class ParquetFile {
  private readonly schema: arrow.Schema;
  private readonly builders: Builder[];
  private readonly batches = new TransformStream<parquet.RecordBatch, parquet.RecordBatch>();
  private readonly writer = this.batches.writable.getWriter();
  private readonly hash = createHash('sha256');
  private readonly written: Promise<void>;
  private inBatch = 0;
  private rows = 0;
  private bytes = 0;

  private constructor(
    private readonly file: string,
    private readonly handle: FileHandle,
    private readonly columns: readonly ParquetColumn[],
    createdBy: string,
  ) {
    this.builders = columns.map(({ type }) => builderOf(type, BATCH));
    this.schema = new arrow.Schema(
      columns.map(
        ({ name, description }, index) =>
          new arrow.Field(
            name,
            (this.builders[index] as Builder).type,
            true,
            new Map(description === '' ? [] : [['description', description]]),
          ),
      ),
    );
    this.written = this.write(propertiesOf(columns, createdBy));
    this.written.catch(() => undefined); // reported to the next caller that adds rows or ends the file
  }

  /**
   * Starts a new file.
   * @param createdBy  the software named in the file
   * @throws Error when it exists
   */
  static async create(
    file: string,
    columns: readonly ParquetColumn[],
    createdBy = 'Drivebook',
  ): Promise<ParquetFile> {
    return new ParquetFile(file, await open(file, 'wx'), columns, createdBy);
  }

  /**
   * Adds a row. @param first  index of the first field that is a column of the file
   * @returns true when `flush` must be awaited before the next row
   * @throws Error for a value that does not fit the type of its column
   */
  add({ bytes, starts, lengths }: Fields, first: number): boolean {
    let size = 0;
    for (const [index, builder] of this.builders.entries()) {
      const length = lengths[first + index] as number;
      if (length < 0) builder.addNull();
      else
        try {
          builder.add(bytes, starts[first + index] as number, length);
        } catch (error) {
          throw this.inWords(error, index);
        }
      size += builder.size;
    }
    this.inBatch += 1;
    return this.inBatch === BATCH || size >= BATCH_BYTES;
  }

  /** Passes the rows so far to the writer, once it is ready. */
  async flush(): Promise<void> {
    this.rows += this.inBatch;
    this.inBatch = 0;
    const children = this.builders.map((builder) => builder.take());
    const type = new arrow.Struct(this.schema.fields);
    const length = children[0]?.length ?? 0;
    const batch = new arrow.RecordBatch(
      this.schema,
      arrow.makeData({ type, length, nullCount: 0, children }),
    );
    const table = parquet.Table.fromIPCStream(
      arrow.tableToIPC(new arrow.Table(this.schema, [batch]), 'stream'),
    );
    const taken = table.recordBatch(0) as parquet.RecordBatch;
    table.free();
    await Promise.race([this.writer.write(taken), this.written]);
  }

  /** Completes the file; it is on disk then. */
  async end(): Promise<WrittenFile> {
    try {
      if (this.inBatch > 0 || this.rows === 0) await this.flush();
      await Promise.all([this.writer.close(), this.written]);
      await this.handle.sync();
    } finally {
      await this.handle.close();
    }
    return { rows: this.rows, bytes: this.bytes, sha256: this.hash.digest('hex') };
  }

  /** Abandons the file and removes it. */
  async abandon(): Promise<void> {
    await this.writer.abort(new Error('given up')).catch(() => undefined);
    await this.written.catch(() => undefined);
    await this.handle.close().catch(() => undefined);
    await rm(this.file, { force: true });
  }

  private async write(properties: parquet.WriterProperties): Promise<void> {
    const pieces = (await parquet.transformParquetStream(
      this.batches.readable,
      properties,
    )) as unknown as ReadableStream<Uint8Array>;
    for await (const piece of pieces) {
      this.hash.update(piece);
      this.bytes += piece.length;
      await this.handle.write(piece);
    }
  }

  private inWords(error: unknown, index: number): unknown {
    const { name } = this.columns[index] as ParquetColumn;
    return error instanceof DoesNotFit
      ? new Error(`A value of ${name} ${error.message}: ${name} cannot be written exactly.`, { cause: error })
      : error;
  }
}
