import { requireAboveZero, requireZeroOrMore } from './checks.js';
import { type Direction3, type Plane } from './orientation.js';

/** A point on the net: east and north of its centre, in units of its radius. */
export type NetPoint = readonly [east: number, north: number];

const RADIANS = Math.PI / 180;

/**
 * Lambert's azimuthal equal-area projection of a direction in the lower hemisphere: at r = √2 · sin(θ / 2) from the centre, θ the
 * angle from the vertical. [radius of the net]
 * @param direction  east, north, down; of unit length, pointing down or level [-]
 * @throws RangeError when it points up or is not of unit length.
 * Source: Lambert 1772; the net of it Schmidt 1925 (memory). r = √2 · sin(θ / 2) is sin θ / √(1 + cos θ), which is computed.
 */
export const equalArea = ([east, north, down]: Direction3): NetPoint => {
  requireZeroOrMore({ down });
  const length = Math.hypot(east, north, down);
  if (!(Math.abs(length - 1) < 1e-6)) throw new RangeError(`direction has length ${length}; it must be 1.`);
  const scale = 1 / Math.sqrt(1 + down);
  return [east * scale, north * scale];
};

/**
 * Great circle of a plane on the net, from one end of its strike over the line of steepest fall to the other. [radius of the net]
 * @param plane  dip and dip direction [°]
 * @param steps  parts that it is drawn in, > 0 [-]
 * @throws RangeError when there are no steps.
 * Source: by definition, as the projections of lines in the plane.
 */
export const greatCircle = ({ dipDeg, dipDirectionDeg }: Plane, steps = 60): NetPoint[] => {
  requireAboveZero({ steps });
  const [dip, direction] = [dipDeg * RADIANS, dipDirectionDeg * RADIANS];
  const strike = [-Math.cos(direction), Math.sin(direction), 0] as const;
  const fall = [
    Math.sin(direction) * Math.cos(dip),
    Math.cos(direction) * Math.cos(dip),
    Math.sin(dip),
  ] as const;
  return Array.from({ length: steps + 1 }, (_, step) => {
    const rake = (Math.PI * step) / steps;
    const along = (k: 0 | 1 | 2): number => strike[k] * Math.cos(rake) + fall[k] * Math.sin(rake);
    return equalArea([along(0), along(1), Math.max(0, along(2))]);
  });
};
