import { overlap, type Rectangle } from '../drawing/rectangle.js';
import type { TextWidths } from './fonts.js';
import { LABEL_SIZE, type PlacedPanel, type WrittenLine } from './layout.js';

const HALF_HEIGHT = LABEL_SIZE / 2 + 1;

/** Offsets of a label from its mark, in order of preference. [px] */
const OFFSETS = [0, 1, 2, 3].flatMap((ring) => [
  { x: 8 + 10 * ring, y: 0 },
  { x: 6 + 6 * ring, y: -12 - 8 * ring },
  { x: 6 + 6 * ring, y: 12 + 8 * ring },
  { x: -8 - 10 * ring, y: 0 },
  { x: -6 - 6 * ring, y: 12 + 8 * ring },
  { x: -6 - 6 * ring, y: -12 - 8 * ring },
]);

/** Places the labels of the points of a panel: to the right, or wherever there is free space. */
export const pointLabels = (
  { panel, left, top, width, height }: PlacedPanel,
  widths: TextWidths,
): WrittenLine[] => {
  const taken: Rectangle[] = [];
  const down = (value: number): number => {
    const part = (value - panel.y.from) / (panel.y.to - panel.y.from);
    return top + height * (panel.y.kind === 'lanes' ? part : 1 - part);
  };
  return panel.series.flatMap((series): WrittenLine[] => {
    if ((series.kind !== 'words' && series.kind !== 'marks') || !series.labels) return [];
    const axis = series.isOnTop && panel.top ? panel.top : panel.x;
    const places = series.points.map(([x, y]) => ({
      x: left + (width * (x - axis.from)) / (axis.to - axis.from),
      y: down(y ?? 0),
    }));
    if (series.kind === 'marks')
      taken.push(...places.map(({ x, y }) => ({ left: x - 5, right: x + 5, top: y - 5, bottom: y + 5 })));
    return series.labels.map((text, index) => {
      const long = widths.of(text, LABEL_SIZE);
      const mark = places[index];
      const boxAt = ({ x, y }: { x: number; y: number }): Rectangle => {
        const from = x > 0 ? mark.x + x : mark.x + x - long;
        return {
          left: from,
          right: from + long,
          top: mark.y + y - HALF_HEIGHT,
          bottom: mark.y + y + HALF_HEIGHT,
        };
      };
      const boxes = (series.kind === 'words' ? OFFSETS.slice(0, 1) : OFFSETS).map(boxAt);
      const free = boxes.find((box) => !taken.some((other) => overlap(box, other))) ?? boxes[0];
      taken.push(free);
      return { text, x: free.left, y: (free.top + free.bottom) / 2, size: LABEL_SIZE, isHaloed: true };
    });
  });
};
