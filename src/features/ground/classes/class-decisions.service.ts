import { Injectable } from '@nestjs/common';
import { type Page, pageFrom } from '../../../common/api/paging.js';
import { assertCreates, assertPrecondition, type Precondition } from '../../../common/api/precondition.js';
import { type Fault, faulty, notFound, ProblemError } from '../../../common/api/problem.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { sql } from '../../../common/database/reading.js';
import { inScope, scope } from '../../../common/database/scope.js';
import type { ClassDecisionState } from '../../../generated/prisma/enums.js';
import type {
  ClassAgreementInput,
  ClassDecision,
  ClassDecisionInput,
  ClassDecisionPage,
} from './class-decision.models.js';
import { decisionRow, assertNoOverlap, saysTheSame, storeDecision } from './class-decision-rows.js';
import { DECISION, readDecision, tagged } from './standing-decision.js';

const PAGE = sql`select ${DECISION} from class_decision_register where drive_id = $1 and number > $2 order by number limit $3`;

const REMOVE = 'delete from class_decision where drive_id = $1 and number = $2';

const MOVE = `update class_decision set state = $3::class_decision_state,
  contractor_representative = coalesce($4, contractor_representative), employer_representative = coalesce($5, employer_representative)
  where drive_id = $1 and number = $2`;

/** A step in the life of a decision. The database enforces the same rules: see class_decision_life in the migrations. */
interface Step {
  from: ClassDecisionState[];
  to: ClassDecisionState;
  named?: ClassAgreementInput;
}

const described = (number: number): string => `class decision ${number}`;

const absent = (drive: string, number: number): ProblemError =>
  notFound(`class decision ${number} in drive ${drive}`);

@Injectable()
export class ClassDecisionsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  /** Up to `first` decisions after a number. */
  async page(drive: string, { first, after }: Page): Promise<ClassDecisionPage> {
    const rows = await this.drives.read(drive, PAGE, after, first + 1);
    return pageFrom(rows.map(tagged), first, ({ number }) => number);
  }

  async get(drive: string, number: number): Promise<ClassDecision> {
    const found = await this.drives.reading(drive, (driveId, statements) =>
      readDecision(statements, driveId, number),
    );
    if (!found) throw absent(drive, number);
    return found;
  }

  /** Proposes a decision, or replaces a proposal. If it equals the existing one, that is answered, whatever version is named. */
  put(
    drive: string,
    number: number,
    input: ClassDecisionInput,
    precondition: Precondition,
  ): Promise<{ decision: ClassDecision; created: boolean }> {
    return this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const row = await decisionRow(transaction, driveId, input);
      const standing = await readDecision(transaction, driveId, number);
      assertCreates(precondition, standing?.etag, described(number));
      if (standing && (await saysTheSame(transaction, driveId, number, row)))
        return { decision: standing, created: false };
      assertPrecondition(precondition, standing?.etag, described(number));
      await assertNoOverlap(transaction, driveId, number, input, row);
      await storeDecision(transaction, driveId, number, row);
      return {
        decision: await standingDecision(transaction, driveId, drive, number),
        created: standing === undefined,
      };
    });
  }

  /** Withdraws a proposal. */
  async remove(drive: string, number: number, ifMatch?: string): Promise<void> {
    await this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const { etag } = await standingDecision(transaction, driveId, drive, number);
      assertPrecondition({ ifMatch }, etag, described(number));
      await transaction.$executeRawUnsafe(REMOVE, driveId, number);
    });
  }

  /** Someone other than the proposer agrees; by then both parties must be named. */
  agree(
    drive: string,
    number: number,
    ifMatch: string | undefined,
    named: ClassAgreementInput,
  ): Promise<ClassDecision> {
    return this.move(drive, number, ifMatch, { from: ['proposed', 'disputed'], to: 'agreed', named });
  }

  /** Someone other than the proposer disputes it. */
  dispute(
    drive: string,
    number: number,
    ifMatch: string | undefined,
    reason: string,
  ): Promise<ClassDecision> {
    return because(reason, () => this.move(drive, number, ifMatch, { from: ['proposed'], to: 'disputed' }));
  }

  /** A withdrawn decision no longer counts but stays readable; another decision may replace it. */
  withdraw(
    drive: string,
    number: number,
    ifMatch: string | undefined,
    reason: string,
  ): Promise<ClassDecision> {
    return because(reason, () =>
      this.move(drive, number, ifMatch, { from: ['agreed', 'disputed'], to: 'withdrawn' }),
    );
  }

  private move(
    drive: string,
    number: number,
    ifMatch: string | undefined,
    { from, to, named = {} }: Step,
  ): Promise<ClassDecision> {
    return this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const standing = await standingDecision(transaction, driveId, drive, number);
      assertPrecondition({ ifMatch }, standing.etag, described(number));
      if (!from.includes(standing.state))
        throw new ProblemError(
          'wrong_state',
          `class decision ${number} is ${standing.state}, not ${from.join(' or ')}`,
        );
      if (to === 'agreed') assertPartiesNamed(standing, named);
      await transaction.$executeRawUnsafe(
        MOVE,
        driveId,
        number,
        to,
        named.contractorRepresentative ?? null,
        named.employerRepresentative ?? null,
      );
      return standingDecision(transaction, driveId, drive, number);
    });
  }
}

const because = <T>(reason: string, work: () => T): T => inScope({ ...scope(), reason: reason.trim() }, work);

const standingDecision = async (
  transaction: Transaction,
  driveId: number,
  drive: string,
  number: number,
): Promise<ClassDecision> => {
  const standing = await readDecision(transaction, driveId, number);
  if (!standing) throw absent(drive, number);
  return standing;
};

const PARTIES = [
  ['contractorRepresentative', 'contractor'],
  ['employerRepresentative', 'client'],
] as const;

/** @throws ProblemError invalid for each party without a named representative */
const assertPartiesNamed = (standing: ClassDecision, named: ClassAgreementInput): void => {
  const faults = PARTIES.flatMap(([field, party]): Fault[] => {
    const name = named[field] ?? standing[field] ?? '';
    if (name.trim() !== '') return [];
    const detail = `class decision ${standing.number} needs the representatives of both parties to be agreed: give ${field}, the representative of the ${party}`;
    return [{ in: 'body', pointer: `/${field}`, value: named[field], detail }];
  });
  if (faults.length > 0) throw faulty('invalid', faults);
};
