import { requireZeroOrMore } from './checks.js';
import { bandOf } from './rating-tables/choose.js';
import { STRENGTH_EDITION } from './rating-tables/editions.js';

/**
 * Class R0 to R6 of the uniaxial compressive strength of intact rock.
 * @param ucsMpa  uniaxial compressive strength, ≥ 0 [MPa]
 * @returns undefined below 0.25 MPa, which is not rock
 * @throws RangeError when it is negative or not finite.
 * Source: ISRM 1978; memory.
 */
export const strengthClass = (ucsMpa: number): string | undefined => {
  requireZeroOrMore({ ucsMpa });
  return bandOf(STRENGTH_EDITION.tables.classes, ucsMpa)?.row;
};
