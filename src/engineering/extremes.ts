/** A point of a drawn line; y null: no value, the line is interrupted there. */
export type LinePoint = readonly [x: number, y: number | null];

/**
 * The points of a line that a drawing needs: of each run within a pixel column the first, the lowest, the highest and the last, so
 * that no extreme and no interruption is lost. At most four per run remain, in order; where no column has more, all of them.
 * @param points   by rising or by falling x, in its unit
 * @param from     x at which the first column begins
 * @param width    of a column, > 0, in the unit of x
 * Source: by definition; the four points per column are those of the M4 aggregation (Jugel, Jerzak, Hackenbroich and Markl 2014,
 * Proc. VLDB Endowment 7(10), 797–808), with which a line one pixel wide looks the same as with all points.
 */
export const extremesByColumn = <P extends LinePoint>(
  points: readonly P[],
  from: number,
  width: number,
): P[] => {
  if (!(width > 0)) throw new RangeError(`width of a column is ${width}; it must be greater than 0.`);
  const kept: P[] = [];
  for (let start = 0; start < points.length;) {
    const column = Math.floor((points[start][0] - from) / width);
    const isGap = points[start][1] === null;
    let [end, lowest, highest] = [start, start, start];
    for (; end < points.length; end += 1) {
      const [x, y] = points[end];
      if (Math.floor((x - from) / width) !== column || (y === null) !== isGap) break;
      if (y === null) continue;
      if (y < (points[lowest][1] ?? y)) lowest = end;
      if (y > (points[highest][1] ?? y)) highest = end;
    }
    const needed = isGap
      ? [start]
      : [...new Set([start, lowest, highest, end - 1])].toSorted((a, b) => a - b);
    kept.push(...needed.map((index) => points[index]));
    start = end;
  }
  return kept;
};
