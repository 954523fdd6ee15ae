import { maximumUnsupportedSpan } from './q-system.js';
import type { QCounted } from './q-range.js';

/** Spans above which further conditions apply. [m] */
const WIDE_M = 10;
const VERY_WIDE_M = 20;

const isWideFit = ({ jn }: QCounted): boolean => jn < 9;
const isVeryWideFit = ({ jn, srf }: QCounted): boolean => jn <= 4 && srf <= 1;

/**
 * The conditions of 1974 for an unsupported opening that are not met, in words; empty: all are met.
 * @param of     effective inputs of Q, RQD in [%]
 * @param spanM  span of the opening, > 0 [m]
 * Source: Barton, Lien and Lunde 1974; memory. That inputs count after location, spacing and adjustments
 * is a rule of this project.
 */
export const unsupportedFaults = (of: QCounted, spanM: number): string[] => {
  const { rqdPercent, jn, jr, ja, jw, srf } = of;
  const conditions: [boolean, string][] = [
    [jn <= 9, `Jn ${jn} is above 9`],
    [jr >= 1, `Jr ${jr} is below 1.0`],
    [ja <= 1, `Ja ${ja} is above 1.0`],
    [jw === 1, `Jw ${jw} is not 1.0`],
    [srf <= 2.5, `SRF ${srf} is above 2.5`],
    [jn !== 9 || jr >= 1.5, `Jr ${jr} is below 1.5 with Jn 9`],
    [jn !== 9 || rqdPercent >= 90, `RQD ${rqdPercent} is below 90 with Jn 9`],
    [jr !== 1 || jn < 4, `Jn ${jn} is not below 4 with Jr 1`],
    [srf <= 1 || jr >= 1.5, `Jr ${jr} is below 1.5 with SRF ${srf}, above 1`],
    [spanM <= WIDE_M || isWideFit(of), `Jn ${jn} is not below 9 with a span above 10 m`],
    [
      spanM <= VERY_WIDE_M || isVeryWideFit(of),
      `Jn ${jn} and SRF ${srf} are not at most 4 and 1 with a span above 20 m`,
    ],
  ];
  return conditions.flatMap(([holds, fault]) => (holds ? [] : [fault]));
};

/**
 * Largest unsupported span where the conditions are met: 2 · ESR · Q^0.4, but not above 10 m or 20 m where the inputs do
 * not allow a wider one. [m]
 * @param q    rock mass quality, > 0 [-]
 * @param esr  excavation support ratio, > 0 [-]
 * @param of   effective inputs of Q
 * @throws RangeError when an input is not above 0.
 * Source: Barton, Lien and Lunde 1974; the formula transcribed, the conditions memory.
 */
export const unsupportedSpan = (q: number, esr: number, of: QCounted): number => {
  const span = maximumUnsupportedSpan(q, esr);
  if (span > WIDE_M && !isWideFit(of)) return WIDE_M;
  return span > VERY_WIDE_M && !isVeryWideFit(of) ? VERY_WIDE_M : span;
};
