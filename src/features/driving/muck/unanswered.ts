import type { StrokeMuck } from './muck.models.js';

/** A stroke's muck with the inputs of its belt load. */
export interface MuckRow extends Omit<StrokeMuck, 'unanswered'> {
  penetrationRateMPerH: number | null;
  beltCapacityTPerH: string | null;
}

const isMissing = (value: unknown): boolean => value === null || value === undefined;

/** The figures of a stroke that cannot be given and why, in words; undefined if there are none. */
export const unanswered = (muck: MuckRow): string | undefined => {
  const nobodyGives = (what: string): string =>
    muck.groundClass
      ? `neither ground class ${muck.groundClass} nor the drive gives a ${what}`
      : `no ground class is noted, and the drive gives no ${what}`;
  const reasons: [boolean, string][] = [
    [isMissing(muck.densityTPerM3), `no mass by theory and no load on the belt: ${nobodyGives('density')}`],
    [isMissing(muck.swellPercent), `no loose volume: ${nobodyGives('swell')}`],
    [
      muck.weighedM !== muck.lengthM,
      `no comparison: ${muck.weighedM} of ${muck.lengthM} m have a mass by the weigher`,
    ],
    [isMissing(muck.penetrationRateMPerH), 'no flow: penetration or rotation was not read'],
    [isMissing(muck.beltCapacityTPerH), 'no load on the belt: the machine gives no capacity of its belt'],
  ];
  const reported = reasons.flatMap(([holds, reason]) => (holds ? [reason] : []));
  return reported.length > 0 ? reported.join('; ') : undefined;
};
