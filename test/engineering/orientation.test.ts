import fc from 'fast-check';
import { equalArea, greatCircle } from '../../src/engineering/equal-area.js';
import {
  fisherConcentration,
  type Plane,
  planeOf,
  poleOf,
  setOrientation,
} from '../../src/engineering/orientation.js';
import { type Symmetric3, symmetricEigen } from '../../src/engineering/symmetric-eigen.js';

const DEG = Math.PI / 180;

const plane = (dipDeg: number, dipDirectionDeg: number): Plane => ({ dipDeg, dipDirectionDeg });

const sumsOf = (planes: Plane[]): Symmetric3 => {
  const sums = { xx: 0, yy: 0, zz: 0, xy: 0, xz: 0, yz: 0 };
  for (const [e, n, d] of planes.map(poleOf)) {
    sums.xx += e * e;
    sums.yy += n * n;
    sums.zz += d * d;
    sums.xy += e * n;
    sums.xz += e * d;
    sums.yz += n * d;
  }
  return sums;
};

const meanOf = (planes: Plane[]): Plane | null => setOrientation(planes.length, sumsOf(planes)).meanPlane;

/** Angle between two axes [°]. */
const between = (one: Plane, other: Plane): number => {
  const [a, b] = [poleOf(one), poleOf(other)];
  const cosine = Math.abs(a[0] * b[0] + a[1] * b[1] + a[2] * b[2]);
  return Math.acos(Math.min(1, cosine)) / DEG;
};

const dipDeg = fc.double({ min: 0, max: 90, noNaN: true });
const azimuth = fc.double({ min: 0, max: 359.99, noNaN: true });
const planes = fc.array(
  fc.tuple(dipDeg, azimuth).map(([dip, direction]) => plane(dip, direction)),
  { minLength: 1, maxLength: 12 },
);

describe('symmetricEigen', () => {
  it.each<[string, Symmetric3, number[]]>([
    ['a diagonal', { xx: 1, yy: 3, zz: 2, xy: 0, xz: 0, yz: 0 }, [3, 2, 1]],
    // (2 − λ)² − 1 = 0 in the first two coordinates, 5 in the third
    ['one pair off the diagonal', { xx: 2, yy: 2, zz: 5, xy: 1, xz: 0, yz: 0 }, [5, 3, 1]],
    // all ones: the vector (1, 1, 1) has 3, what is across it 0
    ['all ones', { xx: 1, yy: 1, zz: 1, xy: 1, xz: 1, yz: 1 }, [3, 0, 0]],
    // −1 off a diagonal of 2, 0 in the corner: 2 + √2, 2, 2 − √2
    ['a chain', { xx: 2, yy: 2, zz: 2, xy: -1, xz: 0, yz: -1 }, [2 + Math.SQRT2, 2, 2 - Math.SQRT2]],
    ['nothing', { xx: 0, yy: 0, zz: 0, xy: 0, xz: 0, yz: 0 }, [0, 0, 0]],
  ])('of %s', (_, matrix, expected) => {
    symmetricEigen(matrix).forEach(({ value }, k) => expect(value).toBeCloseTo(expected[k], 12));
  });

  /** Roots of the characteristic polynomial in closed form: O. K. Smith 1961, Comm. ACM 4, 168. A second method. */
  const rootsOf = ({ xx, yy, zz, xy, xz, yz }: Symmetric3): number[] => {
    const q = (xx + yy + zz) / 3;
    const p = Math.sqrt(
      ((xx - q) ** 2 + (yy - q) ** 2 + (zz - q) ** 2 + 2 * (xy ** 2 + xz ** 2 + yz ** 2)) / 6,
    );
    if (p === 0) return [q, q, q];
    const [a, b, c, d, e, f] = [(xx - q) / p, (yy - q) / p, (zz - q) / p, xy / p, xz / p, yz / p];
    const half = (a * (b * c - f * f) - d * (d * c - f * e) + e * (d * f - b * e)) / 2;
    const phi = Math.acos(Math.max(-1, Math.min(1, half))) / 3;
    const first = q + 2 * p * Math.cos(phi);
    const last = q + 2 * p * Math.cos(phi + (2 * Math.PI) / 3);
    return [first, 3 * q - first - last, last];
  };

  it('finds the roots of the characteristic polynomial, and vectors that the matrix only stretches', () => {
    const element = fc.integer({ min: -1000, max: 1000 }).map((thousandths) => thousandths / 1000);
    fc.assert(
      fc.property(element, element, element, element, element, element, (xx, yy, zz, xy, xz, yz) => {
        const matrix = { xx, yy, zz, xy, xz, yz };
        const pairs = symmetricEigen(matrix);
        const roots = rootsOf(matrix);
        pairs.forEach(({ value, vector: [x, y, z] }, k) => {
          expect(value).toBeCloseTo(roots[k], 6);
          expect(Math.hypot(x, y, z)).toBeCloseTo(1, 12);
          expect(xx * x + xy * y + xz * z).toBeCloseTo(value * x, 12);
          expect(xy * x + yy * y + yz * z).toBeCloseTo(value * y, 12);
          expect(xz * x + yz * y + zz * z).toBeCloseTo(value * z, 12);
        });
      }),
      { numRuns: 300 },
    );
  });

  it('refuses what is not a number', () => {
    expect(() => symmetricEigen({ xx: NaN, yy: 0, zz: 0, xy: 0, xz: 0, yz: 0 })).toThrow(/xx is NaN/);
  });
});

describe('poleOf', () => {
  // trend = dip direction + 180°, plunge = 90° − dip; by hand
  it.each([
    [0, 0, [0, 0, 1]],
    [90, 0, [0, -1, 0]],
    [90, 90, [-1, 0, 0]],
    [45, 180, [0, Math.SQRT1_2, Math.SQRT1_2]],
    [30, 270, [0.5, 0, Math.sqrt(3) / 2]],
    [60, 45, [-Math.sqrt(3 / 8), -Math.sqrt(3 / 8), 0.5]],
  ])('of %d/%d', (dip, direction, expected) => {
    poleOf(plane(dip, direction)).forEach((part, k) => expect(part).toBeCloseTo(expected[k], 12));
  });

  it('is recovered by planeOf, whichever way it points', () => {
    const inside = fc.double({ min: 0.001, max: 89.999, noNaN: true });
    fc.assert(
      fc.property(inside, azimuth, (dip, direction) => {
        const [e, n, d] = poleOf(plane(dip, direction));
        for (const found of [planeOf([e, n, d]), planeOf([-e, -n, -d])]) {
          expect(found.dipDeg).toBeCloseTo(dip, 9);
          expect(Math.abs(((found.dipDirectionDeg - direction + 540) % 360) - 180)).toBeLessThan(1e-6);
        }
      }),
    );
  });

  it('gives a horizontal plane the direction 0 and a vertical one a direction below 180', () => {
    expect(planeOf([0, 0, -1])).toEqual(plane(0, 0));
    for (const pole of [
      [1, 0, 0],
      [-1, 0, 1e-17],
      [1, 0, 1e-17],
    ] as const)
      expect(planeOf(pole)).toEqual({ dipDeg: 90, dipDirectionDeg: expect.closeTo(90, 9) });
  });

  it.each([
    [-1, 0, /dipDeg is -1/],
    [90.01, 0, /dipDeg is 90.01; it must be 90 or less/],
    [NaN, 0, /dipDeg/],
    [45, 360, /dipDirectionDeg is 360; it must be below 360/],
    [45, -0.1, /dipDirectionDeg/],
  ])('refuses %p/%p', (dip, direction, said) => {
    expect(() => poleOf(plane(dip, direction))).toThrow(said);
  });

  it('has no plane for a vector without length', () => {
    expect(() => planeOf([0, 0, 0])).toThrow(/length 0/);
  });
});

describe('the mean of a set', () => {
  it.each<[string, Plane[], Plane]>([
    ['one', [plane(37, 211)], plane(37, 211)],
    ['the same thrice', [plane(60, 120), plane(60, 120), plane(60, 120)], plane(60, 120)],
    // 20° to either side of the vertical pole: which bisects them
    ['two about the horizontal plane', [plane(20, 90), plane(20, 270)], plane(0, 0)],
    // strikes 10° to either side
    ['two about a vertical plane', [plane(90, 80), plane(90, 100)], plane(90, 90)],
    [
      'two about a vertical plane, one measured from its other side',
      [plane(90, 80), plane(90, 280)],
      plane(90, 90),
    ],
    // poles 1° below and 2° above horizontal to the south: the middle lies 0.5° above it, which is 0.5° below to the north
    ['two that straddle the level', [plane(89, 0), plane(88, 180)], plane(89.5, 180)],
    ['the same turned by 75°', [plane(89, 75), plane(88, 255)], plane(89.5, 255)],
    // equal strikes, dips 40°, 50°, 60°: symmetric about 50°
    ['three of one strike', [plane(40, 33), plane(50, 33), plane(60, 33)], plane(50, 33)],
    // twice 10°, once 40° in one vertical plane: tan 2δ = (2 sin 20° + sin 80°) / (2 cos 20° + cos 80°), δ = 19.5533°
    ['uneven weights', [plane(10, 0), plane(10, 0), plane(40, 0)], plane(19.5533, 0)],
  ])('%s', (_, given, expected) => {
    const mean = meanOf(given);
    expect(mean?.dipDeg).toBeCloseTo(expected.dipDeg, 3);
    expect(between(mean ?? plane(0, 0), expected)).toBeLessThan(1e-3);
  });

  it('is undefined where two directions are equally valid', () => {
    expect(meanOf([plane(0, 0), plane(90, 0)])).toBeNull();
    expect(meanOf([plane(0, 0), plane(90, 0), plane(90, 90)])).toBeNull();
  });

  it('rotates with the planes about the vertical', () => {
    fc.assert(
      fc.property(planes, azimuth, (given, turn) => {
        const { eigenvalues, meanPlane } = setOrientation(given.length, sumsOf(given));
        fc.pre(eigenvalues[0] - eigenvalues[1] > 0.01); // otherwise rounding errors turn the mean
        const turned = given.map(({ dipDeg: dip, dipDirectionDeg }) =>
          plane(dip, (dipDirectionDeg + turn) % 360),
        );
        const after = setOrientation(given.length, sumsOf(turned));
        after.eigenvalues.forEach((value, k) => expect(value).toBeCloseTo(eigenvalues[k], 8));
        const expected = plane(meanPlane?.dipDeg ?? 0, ((meanPlane?.dipDirectionDeg ?? 0) + turn) % 360);
        expect(between(after.meanPlane ?? plane(0, 0), expected)).toBeLessThan(1e-4);
      }),
    );
  });

  it('has eigenvalues that sum to 1', () => {
    fc.assert(
      fc.property(planes, (given) => {
        const [s1, s2, s3] = setOrientation(given.length, sumsOf(given)).eigenvalues;
        expect(s1 + s2 + s3).toBeCloseTo(1, 8);
        expect(s1 >= s2 && s2 >= s3 && s3 >= 0).toBe(true);
      }),
    );
  });

  // Five poles with the tensor diag(3, 1, 1) / 5, by hand: three times down, once north, once east.
  it('has no shape where the lower two eigenvalues are equal, nor where the poles lie on one circle', () => {
    const cluster = [plane(0, 0), plane(0, 0), plane(0, 0), plane(90, 0), plane(90, 90)];
    const { eigenvalues, shape, strength } = setOrientation(5, sumsOf(cluster));
    [0.6, 0.2, 0.2].forEach((value, k) => expect(eigenvalues[k]).toBeCloseTo(value, 12));
    expect(shape).toBeNull();
    expect(strength).toBeCloseTo(Math.log(3), 12);
    expect(setOrientation(2, sumsOf([plane(20, 0), plane(40, 0)]))).toMatchObject({
      shape: null,
      strength: null,
    });
  });

  it('has K = 1 where the eigenvalues fall evenly: 4 : 2 : 1', () => {
    const seven = [0, 0, 0, 0].map(() => plane(0, 0)).concat(plane(90, 0), plane(90, 0), plane(90, 90));
    const { shape, strength } = setOrientation(7, sumsOf(seven));
    expect(shape).toBeCloseTo(1, 12);
    expect(strength).toBeCloseTo(Math.log(4), 12);
  });

  it('refuses a count of 0', () => {
    expect(() => setOrientation(0, sumsOf([]))).toThrow(/count is 0/);
  });
});

describe('fisherConcentration', () => {
  it('is (N − 1) / (N − R)', () => {
    expect(fisherConcentration(10, 9.7)).toBeCloseTo(30, 9);
    // two poles 2·20° apart: R = 2 cos 20°, 1 / (2 − 2 cos 20°)
    expect(fisherConcentration(2, 2 * Math.cos(20 * DEG))).toBeCloseTo(8.2909, 4);
  });

  it('is undefined for one, and for identical ones', () => {
    expect(fisherConcentration(1, 1)).toBeNull();
    expect(fisherConcentration(7, 7 + 1e-15)).toBeNull();
  });

  it('refuses a sum that is longer than its parts', () => {
    expect(() => fisherConcentration(3, 3.1)).toThrow(/resultant is 3.1; it must not exceed the count of 3/);
  });
});

describe('equalArea', () => {
  const radius = ([east, north]: readonly [number, number]): number => Math.hypot(east, north);

  it('has the pole of a horizontal plane in the centre and that of a vertical one on the ring', () => {
    expect(radius(equalArea(poleOf(plane(0, 0))))).toBe(0);
    for (const direction of [0, 33, 90, 271]) {
      const [east, north] = equalArea(poleOf(plane(90, direction)));
      expect(east).toBeCloseTo(-Math.sin(direction * DEG), 12);
      expect(north).toBeCloseTo(-Math.cos(direction * DEG), 12);
    }
  });

  it('has that of a dip of 45° at √2 · sin 22.5° = 0.541196', () => {
    expect(radius(equalArea(poleOf(plane(45, 200))))).toBeCloseTo(0.541196, 6);
  });

  it('is √2 · sin(δ / 2) for any dip', () => {
    fc.assert(
      fc.property(dipDeg, azimuth, (dip, direction) => {
        expect(radius(equalArea(poleOf(plane(dip, direction))))).toBeCloseTo(
          Math.SQRT2 * Math.sin((dip / 2) * DEG),
          9,
        );
      }),
    );
  });

  it('keeps areas: of the half sphere below a plunge, the part of the net within its ring', () => {
    // the cap of half angle θ has the share 1 − cos θ of the half sphere
    for (const theta of [10, 30, 45, 60, 80])
      expect(radius(equalArea([Math.sin(theta * DEG), 0, Math.cos(theta * DEG)])) ** 2).toBeCloseTo(
        1 - Math.cos(theta * DEG),
        12,
      );
  });

  it('refuses vectors that point up or are not of unit length', () => {
    expect(() => equalArea([0, 0, -1])).toThrow(/down is -1/);
    expect(() => equalArea([0, 0, 2])).toThrow(/length 2/);
  });
});

describe('greatCircle', () => {
  it('runs from strike to strike through the line of steepest dip, at √2 · sin((90° − dip) / 2)', () => {
    const circle = greatCircle(plane(30, 90), 2);
    // strike to the north, fall to the east with 60° from the vertical, strike to the south
    const expected = [
      [0, 1],
      [Math.SQRT2 * 0.5, 0],
      [0, -1],
    ];
    circle.forEach(([east, north], k) => {
      expect(east).toBeCloseTo(expected[k][0], 12);
      expect(north).toBeCloseTo(expected[k][1], 12);
    });
  });

  it('is the ring for a horizontal plane and a diameter for a vertical one', () => {
    for (const [east, north] of greatCircle(plane(0, 0))) expect(Math.hypot(east, north)).toBeCloseTo(1, 12);
    for (const [east] of greatCircle(plane(90, 90))) expect(east).toBeCloseTo(0, 12);
  });
});
