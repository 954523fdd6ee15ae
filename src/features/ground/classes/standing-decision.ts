import { createHash } from 'node:crypto';
import { matches } from '../../../common/api/if-match.js';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import type { ClassDecision } from './class-decision.models.js';

export const DECISION = `number, state, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, length_m::text as "lengthM",
  ground_class_code as "groundClass", contractor_representative as "contractorRepresentative",
  employer_representative as "employerRepresentative", remark, proposed_by as "proposedBy", proposed_at as "proposedAt",
  agreed_by as "agreedBy", agreed_at as "agreedAt", disputed_by as "disputedBy", disputed_at as "disputedAt",
  dispute_reason as "disputeReason", withdrawn_by as "withdrawnBy", withdrawn_at as "withdrawnAt", withdrawal_reason as "withdrawalReason",
  proposed_for as "proposedFor", agreed_for as "agreedFor", disputed_for as "disputedFor", withdrawn_for as "withdrawnFor", signatures`;

const ONE = `select ${DECISION} from class_decision_register where drive_id = $1 and number = $2`;

export type UntaggedDecision = Omit<ClassDecision, 'etag'>;

/** With its entity tag: a digest of all that it says. */
export const tagged = (decision: UntaggedDecision): ClassDecision => ({
  ...decision,
  etag: `"${createHash('sha256').update(JSON.stringify(decision)).digest('hex')}"`,
});

export const readDecision = async (
  statements: Statements,
  driveId: number,
  number: number,
): Promise<ClassDecision | undefined> => {
  const [found] = await readRows<UntaggedDecision>(statements, ONE, driveId, number);
  return found && tagged(found);
};

/** What the caller says of the version that is meant (RFC 9110, section 13). */
export interface DecisionPrecondition {
  /** If-Match: entity tags, or * */
  ifMatch?: string;
  /** If-None-Match: * */
  createOnly?: boolean;
}

const header = (name: string, value: unknown, detail: string): Fault[] => [
  { in: 'header', pointer: `/${name}`, value, detail },
];

/** @throws ProblemError precondition_failed or precondition_required */
export const assertDecisionPrecondition = (
  { ifMatch, createOnly }: DecisionPrecondition,
  standing: ClassDecision | undefined,
): void => {
  if (!standing) {
    if (ifMatch === undefined) return;
    const detail = 'the class decision does not exist: there is nothing to replace';
    throw faulty('precondition_failed', header('If-Match', ifMatch, detail));
  }
  const { number, etag } = standing;
  if (createOnly)
    throw faulty(
      'precondition_failed',
      header('If-None-Match', '*', `class decision ${number} exists, with other content`),
    );
  if (ifMatch === undefined) {
    const detail = `class decision ${number} exists: send If-Match with the version that you mean, now ${etag}`;
    throw faulty('precondition_required', header('If-Match', undefined, detail));
  }
  if (!matches(ifMatch, etag))
    throw faulty(
      'precondition_failed',
      header('If-Match', ifMatch, `class decision ${number} has changed since: it is now ${etag}`),
    );
};
