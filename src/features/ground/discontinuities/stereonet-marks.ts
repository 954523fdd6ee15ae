/**
 * Colours distinguishable with any colour vision and dark enough on white: those of Okabe and Ito 2008, without yellow and black.
 * Each has its own mark, so that the net can also be read in greyscale.
 */
const COLOURS = ['#0072B2', '#D55E00', '#009E73', '#CC79A7', '#E69F00', '#56B4E9'];

/** Outlines around the origin, about 2 wide. */
const OUTLINES = [
  'M-1 0A1 1 0 1 1 1 0A1 1 0 1 1-1 0Z', // circle
  'M0-1.2L1.1 0.8H-1.1Z', // triangle
  'M-0.9-0.9H0.9V0.9H-0.9Z', // square
  'M0-1.3L1.1 0L0 1.3L-1.1 0Z', // diamond
  'M0 1.2L1.1-0.8H-1.1Z', // inverted triangle
  'M-0.35-1.1H0.35V-0.35H1.1V0.35H0.35V1.1H-0.35V0.35H-1.1V-0.35H-0.35Z', // cross
  'M0 -1.35L0.34 -0.47L1.28 -0.42L0.55 0.18L0.79 1.09L0 0.58L-0.79 1.09L-0.55 0.18L-1.28 -0.42L-0.34 -0.47Z', // star
];

export interface Mark {
  colour: string;
  /** Name of its outline in `MARK_DEFINITIONS`. */
  outline: string;
}

/** The same on every net, so that two nets on one page do not conflict. */
const outlineName = (index: number): string => `net-mark-${index}`;

export const MARK_DEFINITIONS = OUTLINES.map(
  (path, index) => `<path id="${outlineName(index)}" d="${path}"/>`,
).join('');

/** The mark of the set at an index; the first 42 all differ. */
export const markOf = (place: number): Mark => ({
  colour: COLOURS[place % COLOURS.length],
  outline: outlineName(place % OUTLINES.length),
});

/** The mark of discontinuities without a set. */
export const NO_SET: Mark = { colour: '#8A8A8A', outline: outlineName(0) };
