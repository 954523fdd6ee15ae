import { assertPrecondition, type Precondition } from '../../../common/api/precondition.js';
import type { StandingShift } from './shift-context.js';
import { etagOf } from './shift-digest.js';

export type { Precondition } from '../../../common/api/precondition.js';

/**
 * Checks the precondition of a write of a shift.
 * @throws ProblemError precondition_failed or precondition_required
 */
export const assertShiftPrecondition = (precondition: Precondition, standing: StandingShift | null): void =>
  assertPrecondition(precondition, standing ? etagOf(standing) : undefined, 'shift');
