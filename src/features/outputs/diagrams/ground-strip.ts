import type { Box, Panel, Series } from '../../../common/charts/chart.js';

export interface GroundPiece {
  lane: number;
  code: string | null;
  fromChainageM: number;
  toChainageM: number;
  /** index of the class among those of the project */
  place: number | null;
}

const LANE = 0.42;

const boxOf = ({ fromChainageM, toChainageM, lane }: GroundPiece): Box => ({
  fromX: fromChainageM,
  toX: toChainageM,
  fromY: lane - LANE,
  toY: lane + LANE,
});

/** Classes along the drive, in one lane for the expected and one for the encountered ground. */
export const groundStrip = (
  pieces: GroundPiece[],
  lanes: string[],
  ends: { from: number; to: number },
): Panel => {
  const classes = new Map(pieces.map(({ code, place }) => [code, place]));
  const series: Series[] = [...classes]
    .filter(([code]) => code !== null)
    .toSorted(([, one], [, other]) => (one ?? 0) - (other ?? 0))
    .map(([code, place]) => ({
      kind: 'boxes',
      name: `class ${code}`,
      look: place ?? 0,
      boxes: pieces.filter((piece) => piece.code === code).map(boxOf),
    }));
  return {
    height: { px: 24 * lanes.length },
    x: { kind: 'chainage', label: 'chainage [km + m]', ...ends },
    y: { kind: 'lanes', label: '', from: -0.5, to: lanes.length - 0.5, lanes },
    series,
  };
};
