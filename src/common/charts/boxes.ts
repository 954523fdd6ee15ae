import type { Box } from './chart.js';

/** Whether the second box continues the first, or lies so close that no gap would be visible. */
const adjoin = (one: Box, other: Box, apart: number): boolean =>
  one.fromY === other.fromY &&
  one.toY === other.toY &&
  Math.min(other.fromX, other.toX) - Math.max(one.fromX, one.toX) <= apart;

/**
 * Boxes of one look, by rising x in each lane; boxes that adjoin, or are closer than `apart`, are merged. So the width of the
 * drawing limits their number, none is lost, and the drawing changes by less than that distance.
 * @param apart  in the unit of x
 */
export const mergedBoxes = (boxes: readonly Box[], apart: number): Box[] => {
  const lanes = new Map<string, Box[]>();
  for (const box of boxes.toSorted(
    (one, other) => Math.min(one.fromX, one.toX) - Math.min(other.fromX, other.toX),
  )) {
    const key = `${box.fromY} ${box.toY}`;
    const lane = lanes.get(key);
    const last = lane?.at(-1);
    const [fromX, toX] = [Math.min(box.fromX, box.toX), Math.max(box.fromX, box.toX)];
    if (lane && last && adjoin(last, box, apart))
      lane[lane.length - 1] = { ...last, toX: Math.max(last.toX, toX) };
    else if (lane) lane.push({ ...box, fromX, toX });
    else lanes.set(key, [{ ...box, fromX, toX }]);
  }
  return [...lanes.values()].flat();
};
