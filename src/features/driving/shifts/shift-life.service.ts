import { Injectable } from '@nestjs/common';
import { Outcome } from '../../../common/api/outcome.js';
import { notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, type Send, statementsOf } from '../../../common/database/database.js';
import { inScope, scope } from '../../../common/database/scope.js';
import type { ShiftState } from '../../../generated/prisma/enums.js';
import { openItemsOfShift, refusedItems } from '../../outputs/record/open-items.js';
import { doubtedSince } from './incomplete.js';
import { assertShiftPrecondition } from './precondition.js';
import { readDocument } from './read-document.js';
import { lockedContext, type ShiftContext, type ShiftKey, type StandingShift } from './shift-context.js';
import { digestOf, etagOf } from './shift-digest.js';
import type { ShiftDocument, ShiftReceipt } from './shift-document.model.js';
import type { ShiftVersion } from './shift-life.models.js';
import { shiftRows } from './shift-rows.js';
import { describeShift, receiptOf, ShiftsService } from './shifts.service.js';

const MOVE = `update shift set state = $2::shift_state, digest = $3 where id = $1`;

const DISPUTE = `update shift set dispute_reason = $2 where id = $1`;

const VERSIONS = `select v.from_change as change, v.state, v.digest, c.made_at as "madeAt", c.actor as "madeBy", c.reason, e.made_at as until,
  v.posted_by as "postedBy", v.countersigned_by as "countersignedBy", v.countersigned_at as "countersignedAt", v.posted_for as "postedFor", v.countersigned_for as "countersignedFor",
  signed_by(v.posted_for, v.countersigned_for, v.countersigned_by is not null) as signatures,
  v.submitted_at as "submittedAt", v.disputed_by as "disputedBy", v.disputed_at as "disputedAt", v.dispute_reason as "disputeReason", v.disputed_for as "disputedFor"
  from history.shift v join history.change c on c.project_id = v.project_id and c.number = v.from_change
  left join history.change e on e.project_id = v.project_id and e.number = v.to_change
  where v.drive_id in (select id from drive where code = $1) and v.shift_date = $2::date
    and v.calendar_shift_id in (select id from calendar_shift where name = $3)
  order by v.from_change`;

/** The life of a shift after it is submitted. The database enforces the rules: see shift_life in the migrations. */
@Injectable()
export class ShiftLifeService {
  constructor(
    private readonly database: Database,
    private readonly shifts: ShiftsService,
  ) {}

  /**
   * Someone other than those who posted a submitted shift agrees with it, which locks it.
   * @throws ProblemError incomplete when something in it is doubted that nobody confirmed
   */
  async countersign(key: ShiftKey, ifMatch?: string): Promise<ShiftReceipt> {
    try {
      return await this.move(key, ifMatch, 'submitted', 'countersigned');
    } catch (error) {
      const refused = refusedItems(error);
      throw refused ? doubtedSince(refused, key.shift) : error;
    }
  }

  /** Reopens a countersigned shift as a draft, with a reason; earlier versions stay readable. */
  reopen(key: ShiftKey, ifMatch: string | undefined, reason: string): Promise<ShiftReceipt> {
    return inScope({ ...scope(), reason: reason.trim() }, () =>
      this.move(key, ifMatch, 'countersigned', 'draft'),
    );
  }

  /** The other side does not accept a submitted shift: it stays submitted, but can no longer be deemed accepted. */
  dispute(key: ShiftKey, ifMatch: string | undefined, reason: string): Promise<ShiftReceipt> {
    return this.database.pipelined(async (send) => {
      const standing = await this.standing(send, key, ifMatch, 'submitted');
      return async () => {
        const [, receipt] = await Promise.all([
          send(DISPUTE, standing.id, reason.trim()),
          receiptOf(send, key, standing, Outcome.replaced),
        ]);
        return receipt;
      };
    });
  }

  private move(
    key: ShiftKey,
    ifMatch: string | undefined,
    from: ShiftState,
    to: ShiftState,
  ): Promise<ShiftReceipt> {
    return this.database.pipelined(async (send) => {
      const standing = await this.standing(send, key, ifMatch, from);
      if (to === 'countersigned') await openItemsOfShift(send, standing.id, { mustBeComplete: true });
      const digest = to === 'draft' ? await draftDigest(send, key) : standing.digest;
      return async () => {
        const [, receipt] = await Promise.all([
          send(MOVE, standing.id, to, digest),
          receiptOf(send, key, { ...standing, digest, state: to }, Outcome.replaced),
        ]);
        return receipt;
      };
    });
  }

  /** Locks the shift. @throws ProblemError when it is not the expected version, or in another state */
  private async standing(
    send: Send,
    key: ShiftKey,
    ifMatch: string | undefined,
    state: ShiftState,
  ): Promise<StandingShift & Pick<ShiftContext, 'hasOthers'>> {
    const { standing, hasOthers } = await lockedContext(send, key, null);
    if (!standing) throw notFound(describeShift(key));
    assertShiftPrecondition({ ifMatch }, standing);
    if (standing.state === state) return { ...standing, hasOthers };
    throw new ProblemError(
      'wrong_state',
      `shift ${key.date} ${key.shift} is ${standing.state}, not ${state}`,
    );
  }

  /** Every version of a shift, oldest first; also of a removed shift. */
  async versions({ drive, date, shift }: ShiftKey): Promise<ShiftVersion[]> {
    const rows = await this.database.read<Omit<ShiftVersion, 'etag'> & { digest: string }>(
      VERSIONS,
      drive,
      date,
      shift,
    );
    if (rows.length === 0) throw notFound(describeShift({ project: scope().project, drive, date, shift }));
    return rows.map(({ digest, ...version }) => ({
      ...version,
      etag: etagOf({ digest, state: version.state }),
    }));
  }

  /** The document of one version. */
  async version(key: ShiftKey, change: number): Promise<{ document: ShiftDocument; etag: string }> {
    if (!(await this.versions(key)).some((version) => version.change === change))
      throw notFound(`version ${change} of ${describeShift(key)}`);
    return inScope({ ...scope(), asOf: { change } }, () => this.shifts.get(key));
  }
}

/** The digest of the current document as a draft: that of the draft that can be put again. */
const draftDigest = async (send: Send, key: ShiftKey): Promise<string> => {
  const found = await readDocument(statementsOf(send), key);
  if (!found) throw notFound(describeShift(key));
  const document: ShiftDocument = { ...found.document, state: 'draft' };
  const context = await lockedContext(send, key, document.startsAt ?? null);
  return digestOf(await shiftRows(document, key, context));
};
