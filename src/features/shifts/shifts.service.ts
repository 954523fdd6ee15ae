import { Injectable } from '@nestjs/common';
import { Outcome } from '../../common/api/outcome.js';
import { faulty, notFound, ProblemError } from '../../common/api/problem.js';
import { Database, type Transaction } from '../../common/database/database.js';
import { isCollision, sqlErrorOf } from '../../common/database/sql-error.js';
import { OpenItemKind, type OpenItem } from '../record/open-item.model.js';
import { openItemsOfShift } from '../record/open-items.js';
import { holdPrecondition, type Precondition } from './precondition.js';
import { readDocument } from './read-document.js';
import { collisions } from './shift-collisions.js';
import { lockedContext, type ShiftContext, type ShiftKey, type StandingShift } from './shift-context.js';
import { digestOf, etagOf } from './shift-digest.js';
import type { ShiftDocument, ShiftReceipt } from './shift-document.model.js';
import { type ShiftRows, shiftRows } from './shift-rows.js';
import { removeShift, storeShift } from './shift-store.js';

/** The database's own rules over several rows; a document can only break those of its strokes. */
const UNBALANCED = 'DB001';

export const NO_SHIFT = ({ date, shift, drive }: ShiftKey): string =>
  `shift ${date} ${shift} in drive ${drive}`;

@Injectable()
export class ShiftsService {
  constructor(private readonly database: Database) {}

  /** The document as it stands, fit to be put again, and its entity tag. */
  async get(key: ShiftKey): Promise<{ document: ShiftDocument; etag: string }> {
    const found = await this.database.reading((statements) => readDocument(statements, key));
    if (!found) throw notFound(NO_SHIFT(key));
    return { document: found.document, etag: etagOf({ ...found, state: found.document.state }) };
  }

  /**
   * Takes a shift whole or refuses it. A document that says what stands already changes nothing and is answered so,
   * whatever the precondition: the answer to its first sending may have been lost.
   */
  async put(key: ShiftKey, document: ShiftDocument, precondition: Precondition): Promise<ShiftReceipt> {
    let attempt: { context: ShiftContext; rows: ShiftRows } | undefined;
    try {
      return await this.database.atomic(async (transaction) => {
        const context = await lockedContext(transaction, key, document.startsAt ?? null);
        const rows = shiftRows(document, key, context);
        attempt = { context, rows };
        return this.write(transaction, key, context, rows, precondition);
      });
    } catch (error) {
      if (attempt && isCollision(error)) {
        const { context, rows } = attempt;
        throw await this.database.reading((statements) => collisions(statements, context, rows));
      }
      const sql = sqlErrorOf(error);
      if (attempt && sql?.state === UNBALANCED)
        throw faulty('conflict', [{ in: 'body', pointer: '/strokes', detail: sql.message }]);
      throw error;
    }
  }

  private async write(
    transaction: Transaction,
    key: ShiftKey,
    context: ShiftContext,
    rows: ShiftRows,
    precondition: Precondition,
  ): Promise<ShiftReceipt> {
    const { standing } = context;
    const digest = digestOf(rows);
    if (standing?.digest === digest) return receiptOf(transaction, key, standing, Outcome.unchanged);
    holdPrecondition(precondition, standing);
    if (standing?.state === 'countersigned') throw countersigned(key);
    const id = await storeShift(transaction, key, context, rows, digest);
    const outcome = standing ? Outcome.replaced : Outcome.created;
    const receipt = await receiptOf(transaction, key, { id, digest, state: rows.state }, outcome);
    if (rows.state === 'submitted' && receipt.openItems.length > 0) throw incomplete(receipt.openItems, rows);
    return receipt;
  }

  /** Removes a shift that was posted in error; a submitted one stays. */
  async remove(key: ShiftKey, ifMatch?: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const { standing } = await lockedContext(transaction, key, null);
      if (!standing) throw notFound(NO_SHIFT(key));
      holdPrecondition({ ifMatch }, standing);
      if (standing.state !== 'draft')
        throw new ProblemError(
          'conflict',
          `shift ${key.date} ${key.shift} is ${standing.state}: it cannot be removed`,
        );
      await removeShift(transaction, standing);
    });
  }
}

const countersigned = ({ date, shift }: ShiftKey): ProblemError =>
  new ProblemError('conflict', `shift ${date} ${shift} is countersigned: reopen it before you change it`);

/** What became of a shift, as it stands now. */
export const receiptOf = async (
  transaction: Transaction,
  { date, shift }: ShiftKey,
  standing: StandingShift,
  outcome: Outcome,
): Promise<ShiftReceipt> => ({
  date,
  shift,
  state: standing.state,
  etag: etagOf(standing),
  outcome,
  openItems: await openItemsOfShift(transaction, standing.id),
});

const POINTERS: Record<OpenItemKind, string> = {
  metres_missing: '/strokes',
  minutes_missing: '/activities',
  boring_time_differs: '/activities',
  shift_missing: '',
};

/** Why a shift cannot be submitted yet: each open item, at the stroke or list it concerns. */
const incomplete = (items: OpenItem[], { borings }: ShiftRows): ProblemError =>
  faulty(
    'conflict',
    items.map((item) => {
      const stroke = borings.find(({ strokeNumber }) => strokeNumber === item.strokeNumber);
      return {
        in: 'body' as const,
        pointer: stroke ? `${stroke.pointer}/from` : POINTERS[item.kind],
        value: item.toChainage,
        detail: item.detail,
      };
    }),
  );
