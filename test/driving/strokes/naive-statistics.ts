/** Statistics by plain loops over strokes, without the service's code. */
export interface NaiveStroke {
  fromMm: number;
  toMm: number;
  /** minutes from an origin; undefined: without times */
  startMin?: number;
  endMin?: number;
  values: Record<string, number | undefined>;
}

export interface NaiveStatistic {
  strokeCount: number;
  mean: number;
  median: number;
  p10: number;
  p90: number;
  lengthWeightedMean: number;
  timeWeightedMean: number | null;
}

/** The value at a fraction of the sorted sample, interpolated linearly between its two neighbours. */
const percentile = (sorted: number[], share: number): number => {
  const place = share * (sorted.length - 1);
  const below = Math.floor(place);
  const lower = sorted[below] ?? NaN;
  const upper = sorted[Math.min(below + 1, sorted.length - 1)] ?? NaN;
  return lower + (upper - lower) * (place - below);
};

const weighted = (pairs: [value: number, weight: number][]): number | null => {
  let [top, bottom] = [0, 0];
  for (const [value, weight] of pairs) {
    top += value * weight;
    bottom += weight;
  }
  return bottom > 0 ? top / bottom : null;
};

/** @param name  which of the strokes' values */
export const naiveStatistic = (strokes: NaiveStroke[], name: string): NaiveStatistic | undefined => {
  const having = strokes.flatMap((stroke) => {
    const value = stroke.values[name];
    return value === undefined ? [] : [{ ...stroke, value }];
  });
  if (having.length === 0) return undefined;
  const sorted = having.map(({ value }) => value).sort((a, b) => a - b);
  const timed = having.flatMap(({ value, startMin, endMin }): [number, number][] =>
    startMin === undefined || endMin === undefined ? [] : [[value, endMin - startMin]],
  );
  return {
    strokeCount: having.length,
    mean: weighted(having.map(({ value }) => [value, 1])) ?? NaN,
    median: percentile(sorted, 0.5),
    p10: percentile(sorted, 0.1),
    p90: percentile(sorted, 0.9),
    lengthWeightedMean: weighted(having.map(({ value, fromMm, toMm }) => [value, toMm - fromMm])) ?? NaN,
    timeWeightedMean: weighted(timed),
  };
};
