import { Injectable } from '@nestjs/common';
import { faulty, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows, type Statements } from '../../../common/database/database.js';
import { lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { inScope, scope } from '../../../common/database/scope.js';
import type { GoverningState, GroundLogWithDoubts } from './ground-log.models.js';
import { absent, GroundLogsService } from './ground-logs.service.js';

const STATE = `select ruling_state as state from ground_log_sheet where drive_id = $1 and name = $2`;
const MOVE = `update ground_log_sheet set ruling_state = $3 where drive_id = $1 and name = $2`;
/** Other logs of the place that already govern. */
const GOVERNING = `select o.name from ground_log_sheet l
  join ground_log_sheet o on o.drive_id = l.drive_id and o.id <> l.id and o.from_m < l.to_m and o.to_m > l.from_m
  where l.drive_id = $1 and l.name = $2 and o.ruling_state = 'agreed' order by o.from_m limit 10`;

/**
 * Which log governs where there are several: proposed by one person, with a reason, and agreed by another. The database enforces
 * this too: see ground_log_ruling_life in the migrations.
 */
@Injectable()
export class GoverningLogService {
  constructor(
    private readonly database: Database,
    private readonly logs: GroundLogsService,
  ) {}

  propose(drive: string, name: string, reason: string): Promise<GroundLogWithDoubts> {
    return because(reason, () => this.move(drive, name, null, 'proposed'));
  }

  /** Never by the proposer. */
  agree(drive: string, name: string): Promise<GroundLogWithDoubts> {
    return this.move(drive, name, 'proposed', 'agreed');
  }

  /** Withdraws a proposal. */
  remove(drive: string, name: string): Promise<GroundLogWithDoubts> {
    return this.move(drive, name, 'proposed', null);
  }

  /** Never by the proposer. */
  withdraw(drive: string, name: string, reason: string): Promise<GroundLogWithDoubts> {
    return because(reason, () => this.move(drive, name, 'agreed', null));
  }

  private async move(
    drive: string,
    name: string,
    from: GoverningState | null,
    to: GoverningState | null,
  ): Promise<GroundLogWithDoubts> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [log] = await readRows<{ state: GoverningState | null }>(transaction, STATE, driveId, name);
      if (!log) throw absent(drive, name);
      if (log.state !== from)
        throw new ProblemError(
          'wrong_state',
          `ground log ${name} is ${said(log.state)}${from === null ? '' : `, not ${said(from)}`}`,
        );
      if (to === 'agreed') await assertOnlyGoverning(transaction, driveId, name);
      await transaction.$executeRawUnsafe(MOVE, driveId, name, to);
    });
    return this.logs.get(drive, name);
  }
}

const said = (state: GoverningState | null): string =>
  state === null ? 'not proposed as the governing log' : `${state} as the governing log`;

const because = <T>(reason: string, work: () => T): T => inScope({ ...scope(), reason: reason.trim() }, work);

/** A place can have only one governing log. @throws ProblemError conflict naming the others */
const assertOnlyGoverning = async (statements: Statements, driveId: number, name: string): Promise<void> => {
  const others = await readRows<{ name: string }>(statements, GOVERNING, driveId, name);
  if (others.length === 0) return;
  throw faulty(
    'overlap',
    others.map((other) => ({
      in: 'path',
      pointer: '/name',
      value: name,
      detail: `ground log ${other.name} is agreed as the governing log of a part of this place: withdraw it first`,
    })),
  );
};
