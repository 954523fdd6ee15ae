import { createHash } from 'node:crypto';
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
