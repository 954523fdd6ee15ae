export interface Spread {
  median: number;
  lower: number;
  upper: number;
}

export interface Variant {
  name: string;
  /** Prepares one request outside the clock and returns what sends it. */
  prepare(): () => Promise<unknown>;
}

const quantile = (sorted: number[], share: number): number => {
  const at = (sorted.length - 1) * share;
  const [low = NaN, high = low] = [sorted[Math.floor(at)], sorted[Math.ceil(at)]];
  return low + (high - low) * (at - Math.floor(at));
};

/** Median and quartiles. */
export const spread = (values: number[]): Spread => {
  const sorted = values.toSorted((a, b) => a - b);
  return { median: quantile(sorted, 0.5), lower: quantile(sorted, 0.25), upper: quantile(sorted, 0.75) };
};

/** Milliseconds per request of each variant, one number per round. */
export type Times = Record<string, number[]>;

/** Runs the variants in turn, forwards then backwards, so that drift of the machine affects all alike. */
export const interleave = async (variants: Variant[], rounds: number, requests: number): Promise<Times> => {
  const times: Times = Object.fromEntries(variants.map(({ name }) => [name, []]));
  for (let round = -1; round < rounds; round += 1) {
    const order = round % 2 === 0 ? variants : variants.toReversed();
    for (const { name, prepare } of order) {
      const sends = Array.from({ length: requests }, prepare);
      const start = performance.now();
      for (const send of sends) await send();
      const each = (performance.now() - start) / requests;
      if (round >= 0) times[name]?.push(each); // the round before the first warms up
    }
  }
  return times;
};

/** Ratio of the times of `over` to those of `under`, round by round. */
export const ratio = (times: Times, over: string, under: string): Spread =>
  spread((times[over] ?? []).map((time, round) => time / (times[under]?.[round] ?? NaN)));
