import { Injectable } from '@nestjs/common';
import { afterMoment } from '../../../common/api/cursor.js';
import { keyedPage, USUAL_PAGE } from '../../../common/api/paging.js';
import { notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { driveFrame } from '../../../common/drive-frame.js';
import type { TimedPageArgs } from '../water/inflow.models.js';
import { groutingRows, type NamedByRound } from './grouting-rows.js';
import { CLEAR_HOLES, CLEAR_MIXES, FILL_HOLES, FILL_MIXES, NAMED, ONE, PAGE } from './grouting-sql.js';
import {
  GROUTING_CAUTION,
  type GroutingRound,
  type GroutingRoundInput,
  type GroutingRoundPage,
  type GroutingRoundSummary,
} from './grouting.models.js';

/** Grouting rounds, each read and written as a whole, and their takes. */
@Injectable()
export class GroutingService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  page(drive: string, { first, after }: TimedPageArgs): Promise<GroutingRoundPage> {
    const size = first ?? USUAL_PAGE;
    return this.drives.reading(drive, async (id, statements) => {
      const { at, name } = afterMoment(after);
      const rows = await readRows(statements, PAGE, id, at, name, size + 1);
      return keyedPage(rows.map(withCaution), size);
    });
  }

  async get(drive: string, name: string): Promise<GroutingRound> {
    const [found] = await this.drives.read(drive, ONE, name);
    if (!found) throw absent(drive, name);
    return withCaution(found);
  }

  /** Replaces the round of that name, with its holes and mixes. */
  async put(drive: string, name: string, input: GroutingRoundInput): Promise<GroutingRound> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const known = await namedBy(transaction, driveId, input);
      const { head, holes, mixes } = groutingRows(
        input,
        drive,
        await driveFrame(transaction, driveId),
        known,
      );
      const { id } = await transaction.groutRound.upsert({
        where: { driveId_name: { driveId, name } },
        create: { driveId, name, ...head },
        update: head,
      });
      await transaction.$executeRawUnsafe(CLEAR_HOLES, id, JSON.stringify(holes));
      await transaction.$executeRawUnsafe(FILL_HOLES, id, JSON.stringify(holes), driveId);
      await transaction.$executeRawUnsafe(CLEAR_MIXES, id, JSON.stringify(mixes));
      await transaction.$executeRawUnsafe(FILL_MIXES, id, JSON.stringify(mixes));
    });
    return this.get(drive, name);
  }

  async remove(drive: string, name: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { count } = await transaction.groutRound.deleteMany({ where: { driveId, name } });
      if (count === 0) throw absent(drive, name);
    });
  }
}

const withCaution = <R extends object>(round: R): R & Pick<GroutingRoundSummary, 'caution'> => ({
  ...round,
  caution: GROUTING_CAUTION,
});

const absent = (drive: string, name: string): Error => notFound(`grouting round ${name} in drive ${drive}`);

const namedBy = async (
  transaction: Transaction,
  driveId: number,
  { triggerMeasurement, triggerHole, controlHoles }: GroutingRoundInput,
): Promise<NamedByRound> => {
  const [known] = await readRows<NamedByRound>(
    transaction,
    NAMED,
    driveId,
    triggerMeasurement ?? null,
    triggerHole ?? null,
    controlHoles ?? [],
  );
  if (!known) throw new Error('what a round names is one row');
  return known;
};
