import { Injectable } from '@nestjs/common';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { notFound } from '../../../common/api/problem.js';
import { refusedAt } from '../../../common/api/refused-at.js';
import { Database, readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { inScope, scope } from '../../../common/database/scope.js';
import { DraftSums } from './draft-sums.service.js';
import {
  BY_CLASS,
  BY_INTERVAL,
  DOCUMENT,
  FORECAST,
  HAS_LINE,
  HEADS,
  REMOVE,
  SOURCES,
  STANDING,
  STANDS,
  WRITE,
} from './valuation-sql.js';
import type { ValuationState } from '../../../generated/prisma/enums.js';
import type { ForecastLine } from './forecast.models.js';
import type {
  ClassQuantity,
  IntervalQuantity,
  LineSourcePage,
  Valuation,
  ValuationHead,
  ValuationInput,
} from './valuation.models.js';

/** Quantities measured period by period. For agreement and certification see certification.service.ts. */
@Injectable()
export class ValuationsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    private readonly sums: DraftSums,
  ) {}

  list(drive: string): Promise<ValuationHead[]> {
    return this.drives.reading(drive, (driveId, statements) =>
      this.sums.over(driveId, () => readRows(statements, HEADS, driveId)),
    );
  }

  get(drive: string, number: number): Promise<Valuation> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const [valuation] = await this.sums.over(driveId, () =>
        readRows(statements, DOCUMENT, driveId, number),
      );
      if (!valuation) throw absent(drive, number);
      return valuation;
    });
  }

  /** Creates the next valuation, or changes the one that is not certified yet; an agreed one becomes a draft again. */
  async put(drive: string, number: number, input: ValuationInput): Promise<Valuation> {
    await this.write(drive, number, input);
    return this.get(drive, number);
  }

  /** @returns whether it is new */
  write(drive: string, number: number, { cutOff, remark }: ValuationInput): Promise<boolean> {
    return this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const values = [driveId, number, cutOff, remark ?? null];
      const standing = await transaction.$queryRawUnsafe<object[]>(STANDS, ...values);
      if (standing.length > 0) return false;
      const [row] = await refusedAt('conflict', { cutOff }, () =>
        transaction.$queryRawUnsafe<{ created: boolean }[]>(WRITE, ...values),
      );
      return row?.created === true;
    });
  }

  async remove(drive: string, number: number): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const gone = await transaction.$queryRawUnsafe<{ id: number }[]>(REMOVE, driveId, number);
      if (gone.length === 0) throw absent(drive, number);
    });
  }

  /** The records behind a line, in pages. */
  sources(drive: string, number: number, reference: string, { first, after }: Page): Promise<LineSourcePage> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const line = await readRows(statements, HAS_LINE, driveId, number, reference);
      if (line.length === 0) throw notFound(`line ${reference} in valuation ${number} of drive ${drive}`);
      const rows = await readRows(statements, SOURCES, driveId, number, reference, after, first + 1);
      return pageFrom(rows, first, ({ ordinal }) => ordinal);
    });
  }

  byClass(drive: string, number: number): Promise<JsonRows<ClassQuantity>> {
    return this.asMeasured(drive, number, () => this.drives.readByCodes(drive, BY_CLASS, number));
  }

  byInterval(drive: string, number: number, lengthM: string): Promise<JsonRows<IntervalQuantity>> {
    return this.asMeasured(drive, number, () => this.drives.readByCodes(drive, BY_INTERVAL, number, lengthM));
  }

  /** Quantities and amounts expected at the end of the drive, from a valuation and a baseline. */
  forecast(drive: string, number: number, baseline: string): Promise<ForecastLine[]> {
    return this.drives.reading(drive, async (driveId, statements) => {
      await standingOf(statements, drive, driveId, number);
      const known = await readRows(statements, BASELINE, driveId, baseline);
      if (known.length === 0) throw notFound(`baseline ${baseline} of drive ${drive}`);
      return readRows(statements, FORECAST, scope().project, drive, number, baseline);
    });
  }

  /** Reads the record as of the certification of the valuation; for a draft, the current record. */
  private async asMeasured<T>(drive: string, number: number, read: () => Promise<T>): Promise<T> {
    const { measuredChange } = await this.drives.reading(drive, (driveId, statements) =>
      standingOf(statements, drive, driveId, number),
    );
    return measuredChange === null ? read() : inScope({ ...scope(), asOf: { change: measuredChange } }, read);
  }
}

export interface StandingValuation {
  id: number;
  state: ValuationState;
  /** Seal over the agreed lines. */
  digest: string | null;
  measuredChange: number | null;
}

const BASELINE = 'select 1 as found from baseline where drive_id = $1 and name = $2';

/** A valuation's state, without computing anything. @throws ProblemError not_found naming it */
export const standingOf = async (
  statements: Statements,
  drive: string,
  driveId: number,
  number: number,
): Promise<StandingValuation> => {
  const [standing] = await readRows<StandingValuation>(statements, STANDING, driveId, number);
  if (!standing) throw absent(drive, number);
  return standing;
};

export const absent = (drive: string, number: number): Error =>
  notFound(`valuation ${number} of drive ${drive} in project ${scope().project}`);
