import { Injectable } from '@nestjs/common';
import { matches } from '../../../common/api/if-match.js';
import { type Fault, faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { DoubtedRecord } from '../doubts/doubt.models.js';
import { readDoubtsOf, writtenByName } from '../doubts/read-doubts.js';
import { lockedImportContext } from '../strokes/import-context.js';
import type { ImportContext } from '../strokes/read-context.js';
import { assertOrder, type Placed } from '../strokes/import-plan.js';
import type { ImportRow, PlaceWords } from '../strokes/import-rows.js';
import { storeImport } from '../strokes/import-store.js';
import { valuedStrokes } from '../strokes/valued-strokes.js';
import { toMillimetres } from '../../../engineering/chainage.js';
import { moment } from '../../../common/words.js';
import { etagOf, type Findings } from './proposal-findings.js';
import type { AcceptedStrokeProposal, AcceptProposalInput } from './proposal.models.js';
import { readProposal } from './read-proposal.js';

type StoredBoring = Findings['borings'][number];

interface Standing {
  id: number;
  digest: string;
  acceptedBy: string | null;
  acceptedAt: string | null;
  borings: StoredBoring[];
}

const STANDING = `select id, digest, accepted_by as "acceptedBy", accepted_at as "acceptedAt", borings from stroke_proposal
  where drive_id = $1 and number = $2`;

const ACCEPT = `update stroke_proposal set accepted_by = acting_subject(), accepted_at = date_trunc('milliseconds', clock_timestamp()) where id = $1`;

const FIXED_SHIFTS = `select s.shift_date as date, n.name as shift, s.state, s.starts_at as "startsAt", s.ends_at as "endsAt"
  from shift s join calendar_shift n on n.id = s.calendar_shift_id
  where s.drive_id = $1 and s.state <> 'draft' and s.starts_at < $3::timestamptz and s.ends_at > $2::timestamptz order by s.starts_at`;

interface FixedShift {
  date: string;
  shift: string;
  state: string;
  startsAt: string;
  endsAt: string;
}

/** Fields of a proposed boring by the corresponding fields of an import row. */
const FIELDS: Partial<Record<string, string>> = {
  from: '/from',
  to: '/to',
  number: '/stroke',
};

const header = (
  code: 'precondition_failed' | 'precondition_required',
  value: unknown,
  detail: string,
): ProblemError => faulty(code, [{ in: 'header', pointer: '/If-Match', value, detail }]);

/** @throws ProblemError conflict when it has already been accepted; precondition_failed or precondition_required */
const assertProposalPrecondition = (
  number: number,
  { digest, acceptedBy, acceptedAt }: Standing,
  timeZone: string,
  ifMatch?: string,
): void => {
  if (acceptedAt !== null)
    throw new ProblemError(
      'wrong_state',
      `stroke proposal ${number} was accepted by ${acceptedBy} at ${moment(Date.parse(acceptedAt), timeZone)}: it can be booked only once`,
    );
  const etag = etagOf(digest, null);
  if (ifMatch === undefined)
    throw header(
      'precondition_required',
      undefined,
      `send If-Match with the proposal that you accept, now ${etag}`,
    );
  if (!matches(ifMatch, etag))
    throw header('precondition_failed', ifMatch, `stroke proposal ${number} is ${etag}`);
};

/** The borings as rows of an import, numbered from the first stroke on. */
const rowsOf = (borings: StoredBoring[], firstNumber: number): ImportRow[] =>
  borings.map((boring, index) => {
    const number = firstNumber + boring.stroke - 1;
    const { thrustKn, torqueKnm, rotationRpm, penetrationMmPerRev, gripperPressureBar, muckMassT } = boring;
    return {
      line: index,
      number,
      stroke: {
        number,
        fromMm: toMillimetres(boring.fromM),
        toMm: toMillimetres(boring.toM),
        startedAt: Date.parse(boring.startedAt),
        endedAt: Date.parse(boring.endedAt),
        thrustKn,
        torqueKnm,
        rotationRpm,
        penetrationMmPerRev,
        gripperPressureBar,
        muckMassT,
      },
      faults: [],
      changes: [],
      notes: [],
      outcome: 'created',
    };
  });

/** The number after that of the last stroke that begins behind the first boring. */
const nextNumber = ([first]: StoredBoring[], { standing }: ImportContext): number => {
  const fromMm = first ? toMillimetres(first.fromM) : 0;
  return (standing.findLast((boring) => boring.fromMm < fromMm)?.number ?? 0) + 1;
};

/**
 * Books the borings of a proposal as imported strokes: all of them, or none with a report of the conflicts. They are not added to
 * submitted shifts, which keep the strokes with which they were submitted.
 */
@Injectable()
export class AcceptProposalService {
  constructor(private readonly database: Database) {}

  /** @throws ProblemError conflict naming what the borings overlap, or when it has already been accepted */
  accept(
    drive: string,
    number: number,
    ifMatch: string | undefined,
    { firstNumber }: AcceptProposalInput,
  ): Promise<AcceptedStrokeProposal> {
    return this.database.atomic(async (transaction) => {
      const context = await lockedImportContext(transaction, drive);
      const { driveId } = context;
      const [proposal] = await readRows<Standing>(transaction, STANDING, driveId, number);
      if (!proposal) throw notFound(`stroke proposal ${number} in drive ${drive}`);
      assertProposalPrecondition(number, proposal, context.timeZone, ifMatch);
      const { borings } = proposal;
      if (borings.length === 0)
        throw new ProblemError(
          'wrong_state',
          `stroke proposal ${number} contains no boring: there is nothing to book`,
        );
      const rows = rowsOf(borings, firstNumber ?? nextNumber(borings, context));
      await assertBookable(transaction, context, rows);
      await storeImport(transaction, context.driveId, [], valuedStrokes(rows, context.machines));
      await transaction.$executeRawUnsafe(ACCEPT, proposal.id);
      const numbers = new Set(rows.map((row) => String(row.number)));
      return {
        ...(await readProposal(transaction, driveId, drive, number)),
        doubts: await readDoubtsOf(transaction, driveId, writtenByName(DoubtedRecord.stroke, [...numbers])),
      };
    });
  }
}

/** @throws ProblemError conflict with every boring that overlaps an existing one */
const assertBookable = async (
  transaction: Transaction,
  context: ImportContext & { driveId: number },
  rows: ImportRow[],
): Promise<void> => {
  const words: PlaceWords = {
    from: 'from',
    to: 'to',
    say: (_, mm) => context.frame.chainage(mm),
    moment: (ms) => moment(ms, context.timeZone),
    row: () => 'of the proposal',
  };
  const placed: Placed[] = context.standing.map((boring) => ({ stroke: boring, standing: boring }));
  for (const row of rows) if (row.stroke) placed.push({ stroke: row.stroke, row });
  assertOrder(placed, words);
  const faults = [
    ...rows.flatMap((row) =>
      row.faults.map(({ field, value, detail }) =>
        fault(row, FIELDS[field] ?? (field === '' ? '' : `/${field}`), value, detail),
      ),
    ),
    ...(await inFixedShifts(transaction, context, rows, words)),
  ];
  if (faults.length > 0) throw faulty('conflict', faults);
};

const fault = ({ line }: ImportRow, field: string, value: unknown, detail: string): Fault => ({
  in: 'body',
  pointer: `/borings/${line}${field}`,
  value,
  detail,
});

const inFixedShifts = async (
  transaction: Transaction,
  { driveId }: { driveId: number },
  rows: ImportRow[],
  words: PlaceWords,
): Promise<Fault[]> => {
  const times = rows.flatMap(({ stroke }) => [stroke?.startedAt ?? 0, stroke?.endedAt ?? 0]);
  const [first, last] = [times.at(0) ?? 0, times.at(-1) ?? 0].map((ms) => new Date(ms).toISOString());
  const shifts = await readRows<FixedShift>(transaction, FIXED_SHIFTS, driveId, first, last);
  return rows.flatMap((row) => {
    const { startedAt, endedAt } = row.stroke ?? {};
    if (startedAt == null || endedAt == null) return [];
    return shifts
      .filter(({ startsAt, endsAt }) => startedAt < Date.parse(endsAt) && endedAt > Date.parse(startsAt))
      .map(({ date, shift, state }) =>
        fault(
          row,
          '/startedAt',
          words.moment(startedAt),
          `the boring from ${words.moment(startedAt)} to ${words.moment(endedAt)} lies in shift ${date} ${shift}, which is ${state}: its strokes are those it was ${state} with`,
        ),
      );
  });
};
