import { finiteResult } from './checks.js';

/** A symmetric 3 × 3 matrix by its six different elements. */
export interface Symmetric3 {
  xx: number;
  yy: number;
  zz: number;
  xy: number;
  xz: number;
  yz: number;
}

export type Vector3 = readonly [x: number, y: number, z: number];

export interface EigenPair {
  value: number;
  /** of unit length; its sign has no meaning */
  vector: Vector3;
}

const PLANES = [
  [0, 1],
  [0, 2],
  [1, 2],
] as const;

/** Each sweep roughly squares the remaining off-diagonal elements: six reach the limit of double precision. */
const SWEEPS = 12;

/**
 * Eigenvalues and eigenvectors of a symmetric 3 × 3 matrix, largest first: rotations remove the off-diagonal elements one after
 * another until none is left.
 * @param matrix  its elements, finite [any unit]
 * @throws RangeError when an element is not finite.
 * Source: Jacobi 1846, J. reine angew. Math. 30, 51–94, the cyclic form; angle of rotation as in Golub and Van Loan,
 * Matrix Computations, section 8.5 (both from memory; tested against the roots of the characteristic polynomial).
 */
export const symmetricEigen = ({ xx, yy, zz, xy, xz, yz }: Symmetric3): [EigenPair, EigenPair, EigenPair] => {
  for (const [name, element] of Object.entries({ xx, yy, zz, xy, xz, yz })) finiteResult(name, element);
  const a = [
    [xx, xy, xz],
    [xy, yy, yz],
    [xz, yz, zz],
  ];
  const vectors = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ]; // by column
  for (let sweep = 0; sweep < SWEEPS; sweep += 1) {
    for (const [p, q] of PLANES) {
      if (a[p][q] === 0) continue;
      const tau = (a[q][q] - a[p][p]) / (2 * a[p][q]);
      const tangent = (tau < 0 ? -1 : 1) / (Math.abs(tau) + Math.hypot(1, tau));
      const cosine = 1 / Math.hypot(1, tangent);
      const sine = tangent * cosine;
      for (const row of [...a, ...vectors]) [row[p], row[q]] = turned(row[p], row[q], cosine, sine);
      for (let k = 0; k < 3; k += 1) [a[p][k], a[q][k]] = turned(a[p][k], a[q][k], cosine, sine);
      a[p][q] = a[q][p] = 0; // by the choice of the angle
    }
  }
  const pairs = [0, 1, 2].map((k): EigenPair => ({
    value: a[k][k],
    vector: [vectors[0][k], vectors[1][k], vectors[2][k]],
  }));
  return pairs.sort((one, other) => other.value - one.value) as [EigenPair, EigenPair, EigenPair];
};

const turned = (p: number, q: number, cosine: number, sine: number): [number, number] => [
  cosine * p - sine * q,
  sine * p + cosine * q,
];
