import { Injectable } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { Readable } from 'node:stream';
import { faulty, ProblemError } from '../../../common/api/problem.js';
import { readToEnd } from '../../../common/api/streamed.js';
import { readRows } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { scope } from '../../../common/database/scope.js';
import { Measures } from '../../../common/metrics/measures.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { moment } from '../../../common/words.js';
import { Turns } from '../../../common/work/turns.js';
import { readColumnMap } from './column-map.js';
import { readDelimiter } from '../../../common/files/table/forms.js';
import { SAMPLE } from './sample-fields.js';
import { assertUploadLength, openForm } from './sample-form.js';
import { MOST_REFUSED, MOST_REJECTIONS } from './sample-limits.js';
import { type Line, linesOf, piecesOf, UPLOAD_LIMIT_BYTES } from './sample-lines.js';
import type { SampleUploadReport } from './sample.models.js';
import {
  faultsOfLines,
  isRejection,
  JsonReader,
  type Rejection,
  type RowReader,
  type SampleRow,
  TableReader,
} from './sample-rows.js';
import { monthsOf, SampleStore } from './sample-store.js';

/** Rows per insert statement, kept in memory until then. */
const BATCH_ROWS = 5000;

/** Statements in progress at once, while the next batch is read. */
const AT_ONCE = 2;

/** How a table is read; without a map, samples are lines of JSON. */
export interface SampleTable {
  map: string;
  delimiter?: string;
}

interface Place {
  driveId: number;
  frame: DriveFrame;
  /** of the project (IANA) */
  timeZone: string;
}

const TIME_ZONE = `select time_zone as "timeZone" from project where code = $1`;

/** A batch being inserted. */
interface UnderWay {
  fromMs: number;
  toMs: number;
  done: Promise<void>;
}

const spanOf = (rows: SampleRow[]): Omit<UnderWay, 'done'> =>
  rows.reduce(
    ({ fromMs, toMs }, { atMs }) => ({ fromMs: Math.min(fromMs, atMs), toMs: Math.max(toMs, atMs) }),
    { fromMs: Infinity, toMs: -Infinity },
  );

/** Counts the outcomes of the rows of an upload. */
class Tally {
  taken = 0;
  known = 0;
  rejected = 0;
  blank = 0;
  /** valid rows so far, inserted or being inserted */
  sound = 0;
  /** line at which the upload was aborted */
  stoppedAt: number | undefined;
  readonly rejections: Rejection[] = [];
  firstMs = Infinity;
  lastMs = -Infinity;

  reject(rejection: Rejection): void {
    this.rejected += 1;
    if (this.rejections.length < MOST_REJECTIONS) this.rejections.push(rejection);
  }

  /** Whether most of the rows so far are unusable. */
  get isHopeless(): boolean {
    const refused = this.rejected + this.blank;
    return refused > MOST_REFUSED && refused > this.sound;
  }

  note({ atMs }: SampleRow): void {
    this.sound += 1;
    this.firstMs = Math.min(this.firstMs, atMs);
    this.lastMs = Math.max(this.lastMs, atMs);
  }

  /** @throws ProblemError invalid when no row was valid, or the upload was aborted */
  report(timeZone: string): SampleUploadReport {
    const { taken, known, rejected, rejections, firstMs, lastMs } = this;
    if (this.stoppedAt !== undefined)
      throw new ProblemError(
        'invalid',
        `reading stopped at line ${this.stoppedAt}: ${rejected} rows rejected and ${this.blank} blank, more than can be ` +
          `taken; ${taken} were taken and ${known} known before, and may be sent again; see errors for the first`,
        faultsOfLines(rejections),
      );
    if (taken + known > 0)
      return {
        taken,
        known,
        rejected,
        from: moment(firstMs, timeZone),
        to: moment(lastMs, timeZone),
        rejections,
      };
    if (rejected === 0)
      throw faulty('invalid', [{ in: 'body', pointer: '/file', detail: 'the upload holds no samples' }]);
    throw new ProblemError(
      'invalid',
      `none of the ${rejected} rows is valid; see errors${rejected > rejections.length ? ', of the first of them' : ''}`,
      faultsOfLines(rejections),
    );
  }
}

/**
 * Takes machine samples as they arrive: each row is independent, so bad rows are reported and the others stored, some thousands per
 * transaction. Safe to repeat, also after an interrupted upload: an existing sample is left unchanged.
 */
@Injectable()
export class SampleUploadService {
  private readonly outcomes = { taken: 0, known: 0, rejected: 0 };

  constructor(
    private readonly drives: DriveReader,
    private readonly store: SampleStore,
    measures: Measures,
  ) {
    measures.counter(
      'drivebook_samples_total',
      'Machine samples of uploads by what became of them: taken, known already, rejected',
      ['outcome'],
      () => Object.entries(this.outcomes).map(([outcome, count]) => [{ outcome }, count]),
    );
  }

  /**
   * @throws ProblemError for an invalid form, map or heading row, when no row is valid, and beyond the size limit; not_found for the
   * drive
   */
  async take(drive: string, request: FastifyRequest): Promise<SampleUploadReport> {
    assertUploadLength(request);
    try {
      const place = await this.placeOf(drive);
      const { table, stream } = await opened(request);
      return await this.takeRows(place, readerOf(table, place), linesOf(piecesOf(stream)));
    } finally {
      await readToEnd(request.raw, UPLOAD_LIMIT_BYTES);
    }
  }

  /** The same from a file, of any size. */
  async takeFile(drive: string, stream: Readable, table?: SampleTable): Promise<SampleUploadReport> {
    const place = await this.placeOf(drive);
    return this.takeRows(place, readerOf(table, place), linesOf(piecesOf(kept(stream)), Infinity));
  }

  private placeOf(drive: string): Promise<Place> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const [frame, [project]] = await Promise.all([
        driveFrame(statements, driveId),
        readRows<{ timeZone: string }>(statements, TIME_ZONE, scope().project),
      ]);
      return { driveId, frame, timeZone: project?.timeZone ?? 'UTC' };
    });
  }

  private async takeRows(
    { driveId, timeZone }: Place,
    reader: RowReader,
    all: AsyncIterable<Line[]>,
  ): Promise<SampleUploadReport> {
    const tally = new Tally();
    const made = new Set<string>(); // tables of months created so far
    let batch: SampleRow[] = [];
    const putIn = async (rows: SampleRow[]): Promise<void> => {
      const taken = await this.store.put(driveId, rows);
      tally.taken += taken;
      tally.known += rows.length - taken;
    };
    // The next batch is read while others are inserted. Batches that overlap in time are inserted in order: of two samples of one moment, the first is kept.
    let underWay: UnderWay[] = [];
    const next = async (): Promise<void> => {
      const rows = batch;
      batch = [];
      const { fromMs, toMs } = spanOf(rows);
      while (
        underWay.length === AT_ONCE ||
        underWay.some((other) => other.fromMs <= toMs && fromMs <= other.toMs)
      ) {
        await underWay[0]?.done;
        underWay = underWay.slice(1);
      }
      const lacking = [...monthsOf(rows)].filter((month) => !made.has(month));
      if (lacking.length > 0) {
        await Promise.all(underWay.map((other) => other.done)); // no insert may run while a table is created
        underWay = [];
        await this.store.makeMonths(lacking);
        for (const month of lacking) made.add(month);
      }
      const done = putIn(rows);
      done.catch(() => undefined); // handled where it is awaited
      underWay.push({ fromMs, toMs, done });
    };
    const turns = new Turns();
    const take = (line: Line): Promise<void> | undefined => {
      const read = reader.read(line);
      if (!read) tally.blank += 1;
      else if (isRejection(read)) tally.reject(read);
      else {
        tally.note(read);
        batch.push(read);
        if (batch.length === BATCH_ROWS) return next();
      }
      return undefined;
    };
    try {
      for await (const lines of all) {
        for (const line of lines) {
          if (turns.isOver) await turns.wait();
          const batchUnderWay = take(line);
          if (batchUnderWay) await batchUnderWay; // once per batch, not per line
          if (!tally.isHopeless) continue;
          tally.stoppedAt = line.number;
          break;
        }
        if (tally.stoppedAt !== undefined) break;
      }
      if (batch.length > 0) await next();
    } finally {
      await Promise.allSettled(underWay.map(({ done }) => done)); // also before an aborted upload is answered
      for (const outcome of ['taken', 'known', 'rejected'] as const) this.outcomes[outcome] += tally[outcome];
    }
    await Promise.all(underWay.map(({ done }) => done));
    if (tally.taken > 0) await this.store.analyse();
    return tally.report(timeZone);
  }
}

/** The pieces of a stream. Ending early leaves it open: destroying it would also destroy the answer. */
const kept = (stream: Readable): AsyncIterable<Buffer> =>
  stream.iterator({ destroyOnReturn: false }) as AsyncIterable<Buffer>;

const opened = async (
  request: FastifyRequest,
): Promise<{ table?: SampleTable; stream: AsyncIterable<Buffer> }> => {
  if (!request.isMultipart()) {
    const { body } = request;
    return { stream: kept(body instanceof Readable ? body : Readable.from([])) };
  }
  const { map, delimiter, file } = await openForm(request);
  return { table: { map, delimiter }, stream: file };
};

/** @throws ProblemError invalid for an invalid map or delimiter */
const readerOf = (table: SampleTable | undefined, { frame }: Place): RowReader => {
  if (!table) return new JsonReader(frame);
  const map = readColumnMap(table.map, SAMPLE);
  return new TableReader(map, readDelimiter(table.delimiter), frame);
};
