import { requireCount, requireZeroOrMore } from './checks.js';
import { type Symmetric3, symmetricEigen, type Vector3 } from './symmetric-eigen.js';

/** A plane, given by its line of steepest descent. */
export interface Plane {
  /** from the horizontal, 0 to 90 [°] */
  dipDeg: number;
  /** azimuth of the dip, clockwise from north, 0 ≤ α < 360 [°] */
  dipDirectionDeg: number;
}

/** A unit vector: east, north, down. */
export type Direction3 = Vector3;

const RADIANS = Math.PI / 180;

/** Smaller values are numerical noise. */
const NOISE = 1e-9;

const wholeTurn = (deg: number): number => ((deg % 360) + 360) % 360;

/**
 * Pole of a plane: its normal, in the lower hemisphere, (−sin α · sin δ, −cos α · sin δ, cos δ) to east, north and down. [-]
 * @param dipDeg           0 ≤ δ ≤ 90 [°]
 * @param dipDirectionDeg  0 ≤ α < 360 [°]
 * @throws RangeError when an angle is outside its range.
 * Source: by definition: the pole trends at α + 180° and plunges by 90° − δ.
 */
export const poleOf = ({ dipDeg, dipDirectionDeg }: Plane): Direction3 => {
  requireZeroOrMore({ dipDeg, dipDirectionDeg });
  if (dipDeg > 90) throw new RangeError(`dipDeg is ${dipDeg}; it must be 90 or less.`);
  if (dipDirectionDeg >= 360)
    throw new RangeError(`dipDirectionDeg is ${dipDirectionDeg}; it must be below 360.`);
  const [dip, direction] = [dipDeg * RADIANS, dipDirectionDeg * RADIANS];
  const down = dipDeg === 90 ? 0 : Math.cos(dip);
  return [-Math.sin(direction) * Math.sin(dip), -Math.cos(direction) * Math.sin(dip), down];
};

/**
 * Plane of a pole, which may point up or down.
 * @param pole  east, north, down; not of length 0 [-]
 * @returns a horizontal plane with dip direction 0; a vertical one with a dip direction below 180 (project rule)
 * @throws RangeError when the vector has no length.
 * Source: by definition.
 */
export const planeOf = ([east, north, down]: Direction3): Plane => {
  const level = Math.hypot(east, north);
  const size = Math.hypot(level, down);
  if (!(size > 0 && Number.isFinite(size)))
    throw new RangeError(`pole has length ${size}; it must be a finite number above 0.`);
  const dipDeg = Math.atan2(level, Math.abs(down)) / RADIANS;
  if (level / size < NOISE) return { dipDeg: 0, dipDirectionDeg: 0 };
  const isVertical = Math.abs(down) / size < NOISE;
  const sign = down < 0 ? 1 : -1;
  const azimuth = wholeTurn(Math.atan2(sign * east, sign * north) / RADIANS);
  return isVertical ? { dipDeg: 90, dipDirectionDeg: azimuth % 180 } : { dipDeg, dipDirectionDeg: azimuth };
};

export interface SetOrientation {
  /** the three eigenvalues of the tensor, largest first; they sum to 1 */
  eigenvalues: readonly [number, number, number];
  /** mean pole, of unit length; null where two eigenvalues share the largest place and no direction is the mean */
  meanPole: Direction3 | null;
  meanPlane: Plane | null;
  /** Woodcock's K: above 1 a cluster, below 1 a girdle; null where an eigenvalue is 0 or the lower two are equal */
  shape: number | null;
  /** Woodcock's C: strength of the preferred orientation; null where the least eigenvalue is 0 */
  strength: number | null;
}

/**
 * Mean and shape of a set of planes, from the sums over their poles of the products of the components. The tensor does not
 * depend on the sense of a pole, so poles on both sides of the horizontal are averaged correctly.
 * @param count   number of planes, n [-]
 * @param sums    Σ of the products of the components of the n poles of unit length [-]
 * @throws RangeError when the count is 0, or a sum is not finite.
 * Source: mean as the eigenvector of the largest eigenvalue: Scheidegger 1965, Watson 1966 (memory); eigenvalues
 * S1 ≥ S2 ≥ S3, K = ln(S1 / S2) / ln(S2 / S3), C = ln(S1 / S3): Woodcock 1977, Geol. Soc. Am. Bull. 88, 1231–1236 (memory).
 */
export const setOrientation = (count: number, sums: Symmetric3): SetOrientation => {
  requireCount({ count });
  const pairs = symmetricEigen(sums);
  const trace = pairs[0].value + pairs[1].value + pairs[2].value;
  const [s1, s2, s3] = pairs.map(({ value }) => clean(value / trace));
  const meanPole = s1 - s2 > NOISE ? downward(pairs[0].vector) : null;
  const isSpread = s3 > 0; // otherwise the poles lie on one great circle
  return {
    eigenvalues: [s1, s2, s3],
    meanPole,
    meanPlane: meanPole && planeOf(meanPole),
    shape: isSpread && s2 - s3 > NOISE ? Math.log(s1 / s2) / Math.log(s2 / s3) : null,
    strength: isSpread ? Math.log(s1 / s3) : null,
  };
};

const clean = (share: number): number => (share < NOISE ? 0 : share);

const downward = ([east, north, down]: Vector3): Direction3 =>
  down < 0 ? [-east, -north, -down] : [east, north, down];

/**
 * Concentration of a set about its mean: (N − 1) / (N − R). [-]
 * @param count      number of planes, N [-]
 * @param resultant  length of the sum of their poles, each turned to the hemisphere of the mean, 0 ≤ R ≤ N [-]
 * @returns null for a single plane, and where all planes are identical
 * @throws RangeError when an input is outside its range.
 * Source: Fisher 1953, Proc. R. Soc. London A 217, 295–305 (memory). For a set clustered about its mean, K of 5 or more.
 */
export const fisherConcentration = (count: number, resultant: number): number | null => {
  requireCount({ count });
  requireZeroOrMore({ resultant });
  if (resultant > count * (1 + NOISE))
    throw new RangeError(`resultant is ${resultant}; it must not exceed the count of ${count}.`);
  const spread = count - resultant;
  return count === 1 || spread < count * NOISE ? null : (count - 1) / spread;
};
