/**
 * Colours distinguishable with any colour vision: the palette of Okabe and Ito ("Color Universal Design", 2008; figure 2 of
 * Wong, Nature Methods 8, 441, 2011). Colour never carries meaning alone: each line has its own dashes and mark, each area its own hatch.
 */
const BLACK = '#000000';
const ORANGE = '#E69F00';
const SKY_BLUE = '#56B4E9';
const BLUISH_GREEN = '#009E73';
const YELLOW = '#F0E442';
const BLUE = '#0072B2';
const VERMILION = '#D55E00';
const REDDISH_PURPLE = '#CC79A7';

export const INK = '#222222';
export const GREY = '#555555';
export const GRID = '#d4d4d4';

export interface LineLook {
  colour: string;
  /** Lengths of dashes and gaps; empty: solid. [px] */
  dashes: number[];
  mark: string;
  width: number;
}

export const LINE_LOOKS: LineLook[] = [
  { colour: BLACK, dashes: [], mark: 'circle', width: 2 },
  { colour: BLUE, dashes: [8, 4], mark: 'triangle', width: 1.8 },
  { colour: VERMILION, dashes: [2, 3], mark: 'rect', width: 1.8 },
  { colour: BLUISH_GREEN, dashes: [10, 3, 2, 3], mark: 'diamond', width: 1.8 },
  { colour: REDDISH_PURPLE, dashes: [16, 5], mark: 'pin', width: 1.8 },
  { colour: ORANGE, dashes: [5, 2, 1, 2, 1, 2], mark: 'arrow', width: 1.8 },
];

/** Spacing of a hatch's dashes, along and across [px], and their direction [rad]. */
export interface Hatch {
  symbol: 'rect' | 'circle';
  dashArrayX: number | number[] | number[][];
  dashArrayY: number | number[];
  rotation: number;
  symbolSize?: number;
}

const lines = (rotation: number, gap: number): Hatch => ({
  symbol: 'rect',
  dashArrayX: [1, 0],
  dashArrayY: [1.3, gap],
  rotation,
});

const HATCHES: (Hatch | null)[] = [
  null,
  lines(Math.PI / 4, 5),
  {
    symbol: 'circle',
    dashArrayX: [
      [5, 5],
      [0, 5, 5, 0],
    ],
    dashArrayY: [5, 0],
    rotation: 0,
    symbolSize: 0.5,
  },
  lines(-Math.PI / 4, 5),
  lines(0, 4),
  lines(Math.PI / 2, 4),
  lines(Math.PI / 4, 2),
];

const FILLS = [SKY_BLUE, ORANGE, BLUISH_GREEN, YELLOW, BLUE, VERMILION, REDDISH_PURPLE, '#bbbbbb'];

export interface BoxLook {
  fill: string;
  hatch: Hatch | null;
}

/** The look of an area: the first 56 all differ. */
export const boxLook = (place: number): BoxLook => ({
  fill: FILLS[place % FILLS.length],
  hatch: HATCHES[place % HATCHES.length],
});

export const lineLook = (place: number): LineLook => LINE_LOOKS[place % LINE_LOOKS.length];
