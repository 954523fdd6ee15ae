import { Injectable } from '@nestjs/common';
import { Outcome } from '../../../common/api/outcome.js';
import { notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, type Send } from '../../../common/database/database.js';
import { isCollision, sqlErrorOf } from '../../../common/database/sql-error.js';
import { openItemsOfShift, refusedItems } from '../../outputs/record/open-items.js';
import { incomplete } from './incomplete.js';
import { assertCreates } from '../../../common/api/precondition.js';
import { outOfOrder } from './out-of-order.js';
import { assertShiftPrecondition, type Precondition } from './precondition.js';
import { readDocument } from './read-document.js';
import { collisions } from './shift-collisions.js';
import { lockedContext, type ShiftContext, type ShiftKey, type StandingShift } from './shift-context.js';
import { digestOf, etagOf } from './shift-digest.js';
import type { ShiftDocument, ShiftReceipt } from './shift-document.model.js';
import { type ShiftRows, shiftRows } from './shift-rows.js';
import { removeShift, storeShift } from './shift-store.js';

/** SQLSTATE of the database's rules over several rows; of these, a document can only break those of its strokes. */
const UNBALANCED = 'DB001';

export const describeShift = ({ date, shift, drive }: ShiftKey): string =>
  `shift ${date} ${shift} in drive ${drive}`;

@Injectable()
export class ShiftsService {
  constructor(private readonly database: Database) {}

  /** The current document, in the form in which it can be put again, and its entity tag. */
  async get(key: ShiftKey): Promise<{ document: ShiftDocument; etag: string }> {
    const found = await this.database.reading((statements) => readDocument(statements, key));
    if (!found) throw notFound(describeShift(key));
    return { document: found.document, etag: etagOf({ ...found, state: found.document.state }) };
  }

  /**
   * Stores a shift as a whole or refuses it. A document equal to the stored one changes nothing and is answered so, whatever version
   * it names: the answer to its first sending may have been lost. Only If-None-Match: * is refused for an existing shift.
   */
  async put(key: ShiftKey, document: ShiftDocument, precondition: Precondition): Promise<ShiftReceipt> {
    let attempt: { context: ShiftContext; rows: ShiftRows } | undefined;
    try {
      return await this.database.pipelined(async (send) => {
        const context = await lockedContext(send, key, document.startsAt ?? null);
        const rows = await shiftRows(document, key, context);
        attempt = { context, rows };
        return writing(send, key, context, rows, precondition);
      });
    } catch (error) {
      if (attempt && isCollision(error)) {
        const { context, rows } = attempt;
        throw await this.database.reading((statements) => collisions(statements, context, rows));
      }
      const refused = refusedItems(error);
      if (attempt && refused) throw incomplete(refused, document, attempt.rows, attempt.context);
      const sql = sqlErrorOf(error);
      if (attempt && sql?.state === UNBALANCED) throw outOfOrder(sql.message, document, attempt.rows);
      throw error;
    }
  }

  /** Removes a shift that was posted in error; a submitted one cannot be removed. */
  async remove(key: ShiftKey, ifMatch?: string): Promise<void> {
    await this.database.pipelined(async (send) => {
      const { standing } = await lockedContext(send, key, null);
      if (!standing) throw notFound(describeShift(key));
      assertShiftPrecondition({ ifMatch }, standing);
      if (standing.state !== 'draft')
        throw new ProblemError(
          'wrong_state',
          `shift ${key.date} ${key.shift} is ${standing.state}: only a draft can be removed`,
        );
      return () => removeShift(send, standing);
    });
  }
}

const countersigned = ({ date, shift }: ShiftKey): ProblemError =>
  new ProblemError('locked', `shift ${date} ${shift} is countersigned: reopen it before you change it`);

/** What to write, once neither the document nor the stored shift prevents it. @throws ProblemError */
const writing = (
  send: Send,
  key: ShiftKey,
  context: ShiftContext,
  rows: ShiftRows,
  precondition: Precondition,
): (() => Promise<ShiftReceipt>) => {
  const { standing, id, hasOthers } = context;
  const { state } = rows;
  const digest = digestOf(rows);
  assertCreates(precondition, standing ? etagOf(standing) : undefined, 'shift');
  if (standing?.digest === digest)
    return () => receiptOf(send, key, { ...standing, hasOthers }, Outcome.unchanged);
  assertShiftPrecondition(precondition, standing);
  if (standing?.state === 'countersigned') throw countersigned(key);
  const outcome = standing ? Outcome.replaced : Outcome.created;
  return async () => {
    const [, receipt] = await Promise.all([
      storeShift(send, key, context, rows, digest),
      receiptOf(send, key, { id, digest, state, hasOthers }, outcome, state === 'submitted'),
    ]);
    return receipt;
  };
};

/** The receipt of a shift in its current state. */
export const receiptOf = async (
  send: Send,
  { date, shift }: ShiftKey,
  { id, hasOthers, ...version }: StandingShift & Pick<ShiftContext, 'hasOthers'>,
  outcome: Outcome,
  mustBeComplete = false,
): Promise<ShiftReceipt> => ({
  date,
  shift,
  state: version.state,
  etag: etagOf(version),
  outcome,
  ...(await openItemsOfShift(send, id, { mustBeComplete, withOthers: hasOthers })),
});
