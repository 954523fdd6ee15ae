import { requireZeroOrMore } from './checks.js';
import type { Plane } from './orientation.js';
import type { RmrEdition } from './rating-tables/tables.js';

/** A row of R6 proposed from the orientation; the geologist decides. */
export interface OrientationProposal {
  edition: string;
  /** row of the table strike_and_dip */
  row: string;
  /** row of the table orientation, and its rating */
  orientation: string;
  rating: number;
  /** angle between strike and axis, 0 to 90 [°] */
  strikeAngleDeg: number;
  remark?: string;
}

/** Rounding removes numerical noise. */
const DIGITS = 9;
const tidy = (deg: number): number => Number(deg.toFixed(DIGITS));

const DIP_BANDS = [
  [45, '45_90'],
  [20, '20_45'],
] as const;

/** Strikes that are neither across nor along the axis: the published table does not cover them. [°] */
const OBLIQUE_FROM_DEG = 30;
const OBLIQUE_TO_DEG = 60;

/**
 * Row of R6 by dip, dip direction and the azimuth of the drive. With dip: the drive runs the way the joints dip. Strikes at
 * 45° and more from the axis count as across it, others as along it (project rule: the table has only these two).
 * @param plane       governing joints: dip 0 to 90, dip direction 0 to below 360 [°]
 * @param azimuthDeg  of the drive in its direction, 0 to below 360 [°]
 * @param edition     whose table is used
 * @throws RangeError when an angle is outside its range.
 * Source: Bieniawski 1989 after Wickham et al. 1972; transcribed.
 */
export const proposedOrientation = (
  { dipDeg, dipDirectionDeg }: Plane,
  azimuthDeg: number,
  edition: RmrEdition,
): OrientationProposal => {
  requireZeroOrMore({ dipDeg, dipDirectionDeg, azimuthDeg });
  if (dipDeg > 90) throw new RangeError(`dipDeg is ${dipDeg}; it must be 90 or less.`);
  for (const [name, deg] of Object.entries({ dipDirectionDeg, azimuthDeg }))
    if (deg >= 360) throw new RangeError(`${name} is ${deg}; it must be below 360.`);
  const turn = Math.abs(dipDirectionDeg - azimuthDeg);
  const between = tidy(Math.min(turn, 360 - turn)); // angle between dip direction and drive, 0 to 180
  const strikeAngleDeg = tidy(Math.abs(between - 90));
  const rowOf = (isAcross: boolean): string => {
    const band = DIP_BANDS.find(([from]) => dipDeg >= from)?.[1];
    if (!band) return 'any_0_20';
    if (!isAcross) return `parallel_${band}`;
    return `perpendicular_${between < 90 ? 'with' : 'against'}_dip_${band}`;
  };
  const isAcross = strikeAngleDeg >= 45;
  const [row, alternative] = [rowOf(isAcross), rowOf(!isAcross)];
  const isOblique = strikeAngleDeg > OBLIQUE_FROM_DEG && strikeAngleDeg < OBLIQUE_TO_DEG;
  return {
    edition: edition.id,
    row,
    ...rated(row, edition),
    strikeAngleDeg,
    ...(isOblique && row !== alternative
      ? {
          remark: `The strike lies at ${strikeAngleDeg}° to the axis, between the cases of the table: as ${alternative} it would be ${rated(alternative, edition).orientation}.`,
        }
      : {}),
  };
};

const rated = (row: string, { tables }: RmrEdition): { orientation: string; rating: number } => {
  const rating = tables.strike_and_dip.rows.find((candidate) => candidate.row === row)?.min;
  const orientation = tables.orientation.rows.find(({ min }) => min === rating)?.row;
  if (rating === undefined || orientation === undefined)
    throw new RangeError(`strike_and_dip has no rating for ${row}.`);
  return { orientation, rating };
};
