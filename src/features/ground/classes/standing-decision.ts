import { createHash } from 'node:crypto';
import { readRows, type Statements } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { ClassDecision } from './class-decision.models.js';

/** All properties of a decision except its tag. */
export const DECISION = columnsOf(ClassDecision, '', { etag: false });

const ONE = sql`select ${DECISION} from class_decision_register where drive_id = $1 and number = $2`;

export type UntaggedDecision = Omit<ClassDecision, 'etag'>;

/** With its entity tag: a digest of all its properties. */
export const tagged = (decision: UntaggedDecision): ClassDecision => ({
  ...decision,
  etag: `"${createHash('sha256').update(JSON.stringify(decision)).digest('hex')}"`,
});

export const readDecision = async (
  statements: Statements,
  driveId: number,
  number: number,
): Promise<ClassDecision | undefined> => {
  const [found] = await readRows(statements, ONE, driveId, number);
  return found && tagged(found);
};
