// A second implementation of the rule in docs/calculations.md, "Indications ahead": repeated search for the best remaining pair.

export interface Told {
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
  told: Told[];
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
  told: Told;
  met: Met;
  overlap: number;
}

const stretch = (told: Told, tolerance: number): [number, number] => [
  told.from - told.fromU - tolerance,
  told.to + told.toU + tolerance,
];

const better = (a: Pair, b: Pair): boolean => {
  if (a.overlap !== b.overlap) return a.overlap > b.overlap;
  const off = ({ told, met }: Pair): number => Math.abs(met.from - told.from);
  if (off(a) !== off(b)) return off(a) < off(b);
  return a.told.key === b.told.key ? a.met.name < b.met.name : a.told.key < b.told.key;
};

/** For one investigation: each indication's outcome with its encounter, and each encounter's outcome. */
const judge = ({ lengthM, faceM, toleranceM, met }: Ground, looked: Looked) => {
  const later = met.filter(({ at }) => at > looked.at);
  const pairs: Pair[] = [];
  for (const told of looked.told)
    for (const one of later) {
      const [low, high] = stretch(told, toleranceM);
      const overlap = Math.min(high, one.to) - Math.max(low, one.from);
      if (told.kind === one.kind && overlap >= 0) pairs.push({ told, met: one, overlap });
    }
  const matches: Pair[] = [];
  for (let left = pairs; left.length > 0;) {
    const best = left.reduce((a, b) => (better(b, a) ? b : a));
    matches.push(best);
    left = left.filter((pair) => pair.told !== best.told && pair.met !== best.met);
  }
  const indications = looked.told.map((told) => {
    const match = matches.find((pair) => pair.told === told);
    const passed = faceM >= Math.min(stretch(told, toleranceM)[1], lengthM);
    const outcome = !passed ? 'open' : match ? 'hit' : 'false_alarm';
    return [looked.name, told.key, outcome, match?.met.name ?? null].join(' ');
  });
  const encounters = later.flatMap((one) => {
    const match = matches.find((pair) => pair.met === one);
    const inside = pairs.some((pair) => pair.met === one);
    if (!inside && (one.from < looked.from || one.from > looked.to)) return [];
    const passed = faceM >= Math.min(one.to + toleranceM, lengthM);
    const outcome = match ? 'matched' : inside ? 'covered' : passed ? 'missed' : 'open';
    return [[looked.name, one.name, outcome, match?.told.key ?? null].join(' ')];
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
