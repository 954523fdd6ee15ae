import fc from 'fast-check';

/**
 * A drive as an array of cells: what is noted, decided and expected in each. Intervals are whole cells, so every figure is found by
 * checking each cell; nothing here uses the views.
 */

/** Length of a cell. [mm] */
export const CELL_MM = 250;
/** Cells of the drive. */
export const CELLS = 60;

export const CLASSES = ['A', 'B', 'C'] as const;
export type GroundClass = (typeof CLASSES)[number];

export interface Interval {
  from: number;
  to: number;
  groundClass: GroundClass;
}

export interface Note extends Interval {
  lithology: string | null;
}

export interface Decision extends Interval {
  number: number;
  state: 'proposed' | 'agreed' | 'disputed' | 'withdrawn';
}

export interface World {
  direction: 1 | -1;
  face: number;
  notes: Note[];
  decisions: Decision[];
  baseline: Interval[];
}

const groundClass = fc.constantFrom(...CLASSES);
const piece = fc.record({
  gap: fc.constantFrom(0, 0, 0, 1, 4),
  length: fc.integer({ min: 1, max: 9 }),
  groundClass,
  lithology: fc.constantFrom('gneiss', 'schist', null),
  state: fc.constantFrom('proposed', 'agreed', 'agreed', 'disputed', 'withdrawn'),
});

/** Laid one after the other; a withdrawn one occupies no place. */
const laid = (pieces: (typeof piece extends fc.Arbitrary<infer T> ? T : never)[]) => {
  let at = 0;
  return pieces.flatMap(({ gap, length, ...rest }, index) => {
    const from = at + gap;
    const to = from + length;
    if (to > CELLS) return [];
    if (rest.state !== 'withdrawn') at = to;
    return [{ from, to, number: index + 1, ...rest }];
  });
};

const baseline = fc
  .tuple(
    fc.uniqueArray(fc.integer({ min: 1, max: CELLS - 1 }), { maxLength: 6 }),
    fc.array(groundClass, { minLength: 7, maxLength: 7 }),
  )
  .map(([inner, classes]) => {
    const ends = [0, ...inner.sort((a, b) => a - b), CELLS];
    return ends
      .slice(1)
      .map((to, index) => ({ from: ends[index] ?? 0, to, groundClass: classes[index] ?? 'A' }));
  });

export const worlds: fc.Arbitrary<World> = fc.record({
  direction: fc.constantFrom<1 | -1>(1, -1),
  face: fc.integer({ min: 0, max: CELLS }),
  notes: fc
    .array(piece, { maxLength: 12 })
    .map((pieces) => laid(pieces.map((one) => ({ ...one, state: 'agreed' as const }))) as Note[]),
  decisions: fc.array(piece, { maxLength: 10 }).map((pieces) => laid(pieces) as Decision[]),
  baseline,
});

interface Cell {
  note?: Note;
  decision?: Decision;
  expected?: Interval;
}

const cellsOf = ({ notes, decisions, baseline: expected }: World): Cell[] =>
  Array.from({ length: CELLS }, (_, cell) => {
    const holds = ({ from, to }: Interval): boolean => from <= cell && cell < to;
    return {
      note: notes.find(holds),
      decision: decisions.find((one) => one.state !== 'withdrawn' && holds(one)),
      expected: expected.find(holds),
    };
  });

/** The decision that does not govern because it is not agreed. */
const contestedOf = ({ decision }: Cell): Decision | undefined =>
  decision?.state === 'agreed' ? undefined : decision;

const governingOf = ({ note, decision }: Cell): { groundClass: GroundClass; basis: string } | undefined =>
  decision?.state === 'agreed'
    ? { groundClass: decision.groundClass, basis: 'agreed' }
    : note && { groundClass: note.groundClass, basis: 'noted' };

/** What divides the governing class: notes below an agreed decision do not. */
const governingSource = ({ note, decision }: Cell): string =>
  decision?.state === 'agreed' ? `d${decision.number}` : `n${note?.from} d${decision?.number}`;

const contestedWords = (cell: Cell): string => {
  const contested = contestedOf(cell);
  return contested ? `${contested.number} ${contested.state} ${contested.groundClass}` : '- - -';
};

/** The longest runs of cells with the same source. */
const runs = <T>(
  cells: Cell[],
  source: (cell: Cell) => T,
): { from: number; to: number; source: T; cell: Cell }[] => {
  const found: { from: number; to: number; source: T; cell: Cell }[] = [];
  cells.forEach((cell, at) => {
    const last = found.at(-1);
    if (last && last.source === source(cell)) last.to = at + 1;
    else found.push({ from: at, to: at + 1, source: source(cell), cell });
  });
  return found;
};

export const metres = (cells: number): string => ((cells * CELL_MM) / 1000).toFixed(3);

/** Rows of governing_class_of. */
export const naiveGoverning = (world: World): string[] =>
  runs(cellsOf(world), governingSource).flatMap(({ from, to, cell }) => {
    const governing = governingOf(cell);
    return governing || contestedOf(cell)
      ? [
          [
            metres(from),
            metres(to),
            governing?.groundClass ?? '-',
            governing?.basis ?? '-',
            contestedWords(cell),
          ].join(' '),
        ]
      : [];
  });

/** Rows of class_decision_gap. */
export const naiveGaps = (world: World): string[] =>
  runs(cellsOf(world).slice(0, world.face), ({ decision }) => decision).flatMap(({ from, to, source }) =>
    source?.state === 'agreed'
      ? []
      : [[metres(from), metres(to), source?.state ?? 'undecided', source?.number ?? '-'].join(' ')],
  );

const ends = (intervals: Interval[]): number[] => intervals.flatMap(({ from, to }) => [from, to]);

/** The driven part, divided at all of these. */
const tiles = (world: World, cuts: number[]): { from: number; to: number; cell: Cell }[] => {
  const cells = cellsOf(world);
  const places = [...new Set([0, ...cuts.filter((cut) => cut < world.face), world.face])].sort(
    (a, b) => a - b,
  );
  return places.slice(1).map((to, index) => {
    const from = places[index] ?? 0;
    return { from, to, cell: cells[from] ?? {} };
  });
};

const standing = ({ decisions }: World): Decision[] => decisions.filter(({ state }) => state !== 'withdrawn');

/** Rows of ground_strip. */
export const naiveStrip = (world: World): string[] =>
  tiles(world, ends([...world.notes, ...standing(world)])).map(({ from, to, cell }) => {
    const governing = governingOf(cell);
    const { lithology, groundClass: noted } = cell.note ?? {};
    return [
      metres(from),
      metres(to),
      metres(to - from),
      lithology ?? '-',
      noted ?? '-',
      governing?.groundClass ?? '-',
      governing?.basis ?? '-',
      contestedWords(cell),
    ].join(' ');
  });

/** Rows of baseline_strip, divided by what governs: notes below an agreed decision divide nothing. */
export const naiveBaselineStrip = (world: World): string[] => {
  const governing = runs(cellsOf(world), governingSource);
  let [same, other, none] = [0, 0, 0];
  return tiles(world, [...ends(world.baseline), ...governing.flatMap(({ from, to }) => [from, to])]).map(
    ({ from, to, cell }) => {
      const [met, expected] = [governingOf(cell), cell.expected?.groundClass];
      if (!met) none += to - from;
      else if (met.groundClass === expected) same += to - from;
      else other += to - from;
      const running = [same, other, none].map(metres);
      return [
        metres(from),
        metres(to),
        expected,
        met?.groundClass ?? '-',
        met?.basis ?? '-',
        ...running,
        contestedOf(cell)?.state ?? '-',
      ].join(' ');
    },
  );
};

/** Rows of baseline_cross, in the order of their classes. */
export const naiveCross = (world: World): string[] => {
  const counts = new Map<string, number>();
  for (const cell of cellsOf(world).slice(0, world.face)) {
    const key = `${cell.expected?.groundClass} ${governingOf(cell)?.groundClass ?? '-'}`;
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return [...counts].map(([key, count]) => `${key} ${metres(count)}`).sort();
};

/** Metres of baseline_against_encountered by class: baseline, encountered, same, by basis, whole baseline. */
export const naiveAgainst = (world: World): string[] => {
  const all = cellsOf(world);
  const cells = all.slice(0, world.face);
  const count = (those: Cell[], holds: (cell: Cell) => boolean): number => those.filter(holds).length;
  return [...CLASSES, undefined].flatMap((one) => {
    const expects = ({ expected }: Cell): boolean => expected?.groundClass === one;
    const meets = (cell: Cell): boolean => governingOf(cell)?.groundClass === one;
    const by = (basis: string) => count(cells, (cell) => meets(cell) && governingOf(cell)?.basis === basis);
    const contested = (state: string) =>
      count(cells, (cell) => meets(cell) && contestedOf(cell)?.state === state);
    const figures = [
      count(cells, expects),
      count(cells, meets),
      count(cells, (cell) => one !== undefined && expects(cell) && meets(cell)),
      by('agreed'),
      contested('disputed'),
      contested('proposed'),
      by('noted'),
      count(all, expects),
    ];
    return figures.some((figure) => figure > 0) ? [[one ?? '-', ...figures.map(metres)].join(' ')] : [];
  });
};
