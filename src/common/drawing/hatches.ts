/** A tile of a hatch: lines, dots and rings in it, which repeat in both directions. Lengths in millimetres. */
export interface Hatch {
  width: number;
  height: number;
  /** x and y of the ends of each */
  lines: readonly (readonly [number, number, number, number])[];
  /** x, y, radius */
  dots?: readonly (readonly [number, number, number])[];
  /** x, y, radius */
  rings?: readonly (readonly [number, number, number])[];
  /** of its lines [mm] */
  pen: number;
}

const diagonal = (gap: number, rises: boolean, pen = 0.13): Hatch => ({
  width: gap,
  height: gap,
  // also across the corners, so that lines are unbroken where tiles meet
  lines: rises
    ? [
        [0, gap, gap, 0],
        [-gap / 2, gap / 2, gap / 2, -gap / 2],
        [gap / 2, 1.5 * gap, 1.5 * gap, gap / 2],
      ]
    : [
        [0, 0, gap, gap],
        [gap / 2, -gap / 2, 1.5 * gap, gap / 2],
        [-gap / 2, gap / 2, gap / 2, 1.5 * gap],
      ],
  pen,
});

const crossed = (gap: number): Hatch => ({
  ...diagonal(gap, true),
  lines: [...diagonal(gap, true).lines, ...diagonal(gap, false).lines],
});

const level = (gap: number, pen = 0.13): Hatch => ({
  width: gap,
  height: gap,
  lines: [[0, gap / 2, gap, gap / 2]],
  pen,
});

const plus = (x: number, y: number, arm: number): Hatch['lines'] => [
  [x - arm, y, x + arm, y],
  [x, y - arm, x, y + arm],
];

/** A wave of straight segments across a tile. */
const wave = (width: number, y: number, high: number): Hatch['lines'] => [
  [0, y, width / 4, y - high],
  [width / 4, y - high, width / 2, y],
  [width / 2, y, (3 * width) / 4, y + high],
  [(3 * width) / 4, y + high, width, y],
];

const bricks = (width: number, height: number, lean = 0): Hatch => ({
  width,
  height: 2 * height,
  lines: [
    [0, height / 2, width, height / 2],
    [0, 1.5 * height, width, 1.5 * height],
    [width / 4, height / 2, width / 4 + lean, 1.5 * height],
    [(3 * width) / 4, -height / 2, (3 * width) / 4 + lean, height / 2],
    [(3 * width) / 4, 1.5 * height, (3 * width) / 4 + lean, 2.5 * height],
  ],
  pen: 0.13,
});

/** Short horizontal strokes, with every other row offset by half. */
const dashed = (width: number, gap: number): Hatch => ({
  width,
  height: 2 * gap,
  lines: [
    [0.1 * width, gap / 2, 0.55 * width, gap / 2],
    [0.6 * width, 1.5 * gap, width, 1.5 * gap],
    [0, 1.5 * gap, 0.05 * width, 1.5 * gap],
  ],
  pen: 0.13,
});

/**
 * Hatches drawn for this service. Those of rock follow the convention of geological maps, also seen in the lithologic patterns of
 * the FGDC standard (FGDC-STD-013-2006, section 37, public domain): bricks for limestone, dots for sandstone, crosses for plutonic
 * rock, waves for schist and gneiss. They are simplified from memory and are not the standard's.
 */
export const HATCHES = {
  // rock
  plutonic: {
    width: 4,
    height: 4,
    lines: [...plus(1, 1, 0.45), ...plus(3, 3, 0.45)],
    pen: 0.14,
  },
  mafic: {
    width: 3.2,
    height: 3.2,
    lines: [
      [0.4, 0.4, 0.4, 1.2],
      [0.4, 0.8, 1.1, 0.8],
      [2, 2, 2, 2.8],
      [2, 2.4, 2.7, 2.4],
    ],
    pen: 0.16,
  },
  volcanic: {
    width: 3,
    height: 3,
    lines: [
      [0.3, 0.3, 0.75, 1.1],
      [0.75, 1.1, 1.2, 0.3],
      [1.8, 1.8, 2.25, 2.6],
      [2.25, 2.6, 2.7, 1.8],
    ],
    pen: 0.14,
  },
  gneiss: {
    width: 5,
    height: 2.4,
    lines: [...wave(5, 0.7, 0.35), ...dashed(5, 1.2).lines.slice(1)],
    pen: 0.14,
  },
  granitic_gneiss: {
    width: 5,
    height: 4,
    lines: [...wave(5, 0.8, 0.35), ...plus(2.5, 2.8, 0.45)],
    pen: 0.14,
  },
  schist: { width: 3.4, height: 1.3, lines: wave(3.4, 0.65, 0.3), pen: 0.13 },
  slate: { ...diagonal(1.3, true), pen: 0.12 },
  quartzite: {
    width: 3.6,
    height: 3.6,
    lines: wave(3.6, 2.7, 0.2),
    dots: [
      [0.6, 0.9, 0.14],
      [2.4, 0.9, 0.14],
    ],
    pen: 0.12,
  },
  marble: { ...bricks(4, 1.6), lines: [...bricks(4, 1.6).lines, [1.4, 0.9, 2, 1.5], [2.4, 2.5, 3, 3.1]] },
  limestone: bricks(4, 1.6),
  dolomite: bricks(4, 1.6, 0.7),
  marl: { ...bricks(5, 1.8), lines: [...bricks(5, 1.8).lines, [2, 1.8, 3, 1.8], [0, 3.6, 0.8, 3.6]] },
  sandstone: {
    width: 2.2,
    height: 2.2,
    lines: [],
    dots: [
      [0.55, 0.55, 0.16],
      [1.65, 1.65, 0.16],
    ],
    pen: 0.1,
  },
  siltstone: { ...dashed(3, 1), dots: [[2.4, 0.5, 0.12]] },
  mudstone: dashed(3.4, 0.9),
  conglomerate: {
    width: 4.4,
    height: 4.4,
    lines: [],
    rings: [
      [1.1, 1.1, 0.7],
      [3.3, 3.2, 0.55],
      [3.2, 0.9, 0.3],
    ],
    pen: 0.13,
  },
  breccia: {
    width: 4,
    height: 4,
    lines: [
      [0.3, 1.6, 1, 0.3],
      [1, 0.3, 1.7, 1.6],
      [1.7, 1.6, 0.3, 1.6],
      [2.3, 3.7, 3, 2.4],
      [3, 2.4, 3.7, 3.7],
      [3.7, 3.7, 2.3, 3.7],
    ],
    pen: 0.13,
  },
  evaporite: { ...crossed(2.6), pen: 0.1 },
  fault_rock: {
    width: 3,
    height: 2.4,
    lines: [
      [0, 1.2, 0.6, 0.4],
      [0.6, 0.4, 1.1, 1.9],
      [1.1, 1.9, 1.8, 0.3],
      [1.8, 0.3, 2.4, 2],
      [2.4, 2, 3, 1.2],
    ],
    pen: 0.2,
  },
  soil: {
    width: 3,
    height: 3,
    lines: [[1.7, 2.3, 2.5, 2.3]],
    dots: [[0.6, 0.7, 0.14]],
    rings: [[2, 1, 0.35]],
    pen: 0.12,
  },
  // ground classes and other intervals
  rising: diagonal(2, true),
  falling: diagonal(2, false),
  crossed: crossed(2.4),
  level: level(1.2),
  upright: { width: 1.2, height: 1.2, lines: [[0.6, 0, 0.6, 1.2]], pen: 0.13 },
  grid: {
    width: 1.6,
    height: 1.6,
    lines: [
      [0, 0.8, 1.6, 0.8],
      [0.8, 0, 0.8, 1.6],
    ],
    pen: 0.12,
  },
  dotted: {
    width: 1.6,
    height: 1.6,
    lines: [],
    dots: [
      [0.4, 0.4, 0.13],
      [1.2, 1.2, 0.13],
    ],
    pen: 0.1,
  },
  dense: diagonal(1, true, 0.16),
  bolts: { width: 2.4, height: 2.4, lines: [], dots: [[1.2, 1.2, 0.28]], pen: 0.1 },
} satisfies Record<string, Hatch>;

export type HatchName = keyof typeof HATCHES;

export const hatchOf = (name: HatchName): Hatch => HATCHES[name];
