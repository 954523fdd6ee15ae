/** Its sides, measured rightwards and downwards. */
export interface Rectangle {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

/** Whether two rectangles share an area; touching sides do not count. */
export const overlap = (one: Rectangle, other: Rectangle): boolean =>
  one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
