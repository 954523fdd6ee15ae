// A second implementation of the rule in docs/calculations.md, "Indications ahead": repeated search for the best remaining pair.

export interface Predicted {
  key: string;
  kind: string;
  from: number;
  to: number;
  fromU: number;
  toU: number;
}

export interface Looked {
  name: string;
  from: number;
  to: number;
  face: number;
  at: number;
  predicted: Predicted[];
}

export interface Met {
  name: string;
  kind: string;
  from: number;
  to: number;
  at: number;
}

export interface Ground {
  lengthM: number;
  faceM: number;
  toleranceM: number;
  looked: Looked[];
  met: Met[];
}

interface Pair {
  predicted: Predicted;
  met: Met;
  overlap: number;
}

const stretch = (predicted: Predicted, tolerance: number): [number, number] => [
  predicted.from - predicted.fromU - tolerance,
  predicted.to + predicted.toU + tolerance,
];

const better = (a: Pair, b: Pair): boolean => {
  if (a.overlap !== b.overlap) return a.overlap > b.overlap;
  const off = ({ predicted, met }: Pair): number => Math.abs(met.from - predicted.from);
  if (off(a) !== off(b)) return off(a) < off(b);
  return a.predicted.key === b.predicted.key ? a.met.name < b.met.name : a.predicted.key < b.predicted.key;
};

/** For one investigation: each indication's outcome with its encounter, and each encounter's outcome. */
const judge = ({ lengthM, faceM, toleranceM, met }: Ground, looked: Looked) => {
  const later = met.filter(({ at }) => at > looked.at);
  const pairs: Pair[] = [];
  for (const predicted of looked.predicted)
    for (const one of later) {
      const [low, high] = stretch(predicted, toleranceM);
      const overlap = Math.min(high, one.to) - Math.max(low, one.from);
      if (predicted.kind === one.kind && overlap >= 0) pairs.push({ predicted, met: one, overlap });
    }
  const matches: Pair[] = [];
  for (let left = pairs; left.length > 0;) {
    const best = left.reduce((a, b) => (better(b, a) ? b : a));
    matches.push(best);
    left = left.filter((pair) => pair.predicted !== best.predicted && pair.met !== best.met);
  }
  const indications = looked.predicted.map((predicted) => {
    const match = matches.find((pair) => pair.predicted === predicted);
    const passed = faceM >= Math.min(stretch(predicted, toleranceM)[1], lengthM);
    const outcome = !passed ? 'open' : match ? 'hit' : 'false_alarm';
    return [looked.name, predicted.key, outcome, match?.met.name ?? null].join(' ');
  });
  const encounters = later.flatMap((one) => {
    const match = matches.find((pair) => pair.met === one);
    const inside = pairs.some((pair) => pair.met === one);
    if (!inside && (one.from < looked.from || one.from > looked.to)) return [];
    const passed = faceM >= Math.min(one.to + toleranceM, lengthM);
    const outcome = match ? 'matched' : inside ? 'covered' : passed ? 'missed' : 'open';
    return [[looked.name, one.name, outcome, match?.predicted.key ?? null].join(' ')];
  });
  return { indications, encounters };
};

export const naive = (ground: Ground) => {
  const all = ground.looked.map((looked) => judge(ground, looked));
  return {
    indications: all.flatMap(({ indications }) => indications).toSorted(),
    encounters: all.flatMap(({ encounters }) => encounters).toSorted(),
  };
};
