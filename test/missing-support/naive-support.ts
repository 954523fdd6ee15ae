/**
 * Required against installed support by a second way: the drive as an array of millimetres, each of which knows what is
 * demanded of it and what stands in it. Quantities are whole billionths of the unit.
 */

export interface Demand {
  item: string;
  zone: 'L1' | 'L2';
  /** Millionths of the unit a metre: billionths a millimetre. */
  perM: number;
  /** Hundredths of a percent. */
  tolerance: number;
}

export interface Line {
  item: string;
  zone: 'L1' | 'L2';
  fromMm: number;
  toMm: number;
  /** Thousandths of the unit. */
  quantity: number;
}

export interface World {
  lengthMm: number;
  /** Strokes along the drive, by their ends; what lies between them was not recorded. */
  strokes: [fromMm: number, toMm: number][];
  classes: { code: string; fromMm: number; toMm: number }[];
  sections: { name: string; fromMm: number; toMm: number; demands: Demand[] }[];
  standards: Record<string, Demand[]>;
  limitsMm: Partial<Record<'L1' | 'L2', number>>;
  lines: Line[];
}

export const ZONES = ['L1', 'L2'] as const;

export const faceOf = ({ strokes }: World): number => strokes.at(-1)?.[1] ?? 0;

/** What is demanded at a millimetre; undefined: nobody says. */
const demandsAt = (world: World, mm: number): Demand[] | undefined => {
  const over = <T extends { fromMm: number; toMm: number }>(list: T[]): T | undefined =>
    list.find(({ fromMm, toMm }) => fromMm <= mm && mm < toMm);
  const section = over(world.sections);
  if (section) return section.demands;
  const rule = over(world.classes);
  return rule && world.standards[rule.code];
};

/** A half away from zero, as the record rounds. */
const rounded = (numerator: number, denominator: number): number =>
  Math.floor((2 * numerator + denominator) / (2 * denominator));

/** What of a line stands in each millimetre, in thousandths; what it does not say of the last place goes to the one before. */
const spreadOf = (
  { fromMm, toMm, quantity }: Line,
  lengthMm: number,
): [mm: number, thousandths: number][] => {
  if (fromMm === toMm) return [[Math.min(fromMm, lengthMm - 1), quantity]];
  const length = toMm - fromMm;
  return Array.from({ length }, (_, i) => [
    fromMm + i,
    rounded(quantity * (i + 1), length) - rounded(quantity * i, length),
  ]);
};

export interface Total {
  length: number;
  required: bigint;
  /** Hundred thousandths of a billionth. */
  tolerated: bigint;
  installed: bigint;
}

/** Adds up by a key of the millimetre, of the part that it belongs to, of the zone and the item. */
export class NaiveSupport {
  private readonly demands: (Demand[] | undefined)[];
  private readonly faceMm: number;

  constructor(private readonly world: World) {
    this.faceMm = faceOf(world);
    this.demands = Array.from({ length: this.faceMm }, (_, mm) => demandsAt(world, mm));
  }

  private partOf(mm: number, zone: 'L1' | 'L2'): string {
    if (mm >= this.faceMm) return 'ahead_of_face';
    if (!this.demands[mm]) return 'not_assessed';
    return mm < this.faceMm - (this.world.limitsMm[zone] ?? 0) ? 'due' : 'not_yet_due';
  }

  totals(cellOf: (mm: number) => number): Map<string, Total> {
    const totals = new Map<string, Total>();
    const at = (key: string): Total => {
      const total = totals.get(key) ?? { length: 0, required: 0n, tolerated: 0n, installed: 0n };
      totals.set(key, total);
      return total;
    };
    for (const [mm, demands] of this.demands.entries()) {
      if (!demands) at(`${cellOf(mm)} not_assessed - -`).length += 1;
      for (const { item, zone, perM, tolerance } of demands ?? []) {
        const total = at(`${cellOf(mm)} ${this.partOf(mm, zone)} ${zone} ${item}`);
        total.length += 1;
        total.required += BigInt(perM);
        total.tolerated += BigInt(perM) * BigInt(tolerance);
      }
    }
    for (const line of this.world.lines)
      for (const [mm, thousandths] of spreadOf(line, this.world.lengthMm))
        if (thousandths !== 0)
          at(`${cellOf(mm)} ${this.partOf(mm, line.zone)} ${line.zone} ${line.item}`).installed +=
            BigInt(thousandths) * 1_000_000n;
    return totals;
  }

  /** By zone: unsupported length, length of incomplete strokes, the part of both that is overdue, and of what is not assessed. */
  behindFace(zone: 'L1' | 'L2'): number[] {
    const { strokes, limitsMm } = this.world;
    const bounds = [...new Set([0, ...strokes.flat()])].sort((a, b) => a - b);
    const cells = bounds.slice(1).map((to, index) => [bounds[index] ?? 0, to] as const);
    const cellOf = (mm: number): number => bounds.findLastIndex((from) => from <= mm);
    const totals = this.totals(cellOf);
    const due = this.faceMm - (limitsMm[zone] ?? this.faceMm);
    const sums = { supportedTo: 0, incomplete: 0, overdue: 0, notAssessed: 0, overdueNotAssessed: 0 };
    for (const [cell, [from, to]] of cells.entries()) {
      const unknown = totals.get(`${cell} not_assessed - -`)?.length ?? 0;
      const short = [...new Set(this.world.lines.map(({ item }) => item).concat(this.items()))].some(
        (item) => {
          const parts = ['due', 'not_yet_due'].map((part) => totals.get(`${cell} ${part} ${zone} ${item}`));
          const sum = (of: (total: Total) => bigint): bigint =>
            parts.reduce((all, total) => all + (total ? of(total) : 0n), 0n);
          const lacks = sum(({ required }) => required) - sum(({ installed }) => installed);
          return lacks * 10_000n > sum(({ tolerated }) => tolerated);
        },
      );
      if (!short && unknown === 0) sums.supportedTo = to;
      if (short) sums.incomplete += to - from;
      sums.notAssessed += unknown;
      const beyond = Math.max(Math.min(to, due) - from, 0);
      if (short) sums.overdue += beyond;
      sums.overdueNotAssessed += Math.min(unknown, beyond);
    }
    return [
      this.faceMm - sums.supportedTo,
      sums.incomplete,
      sums.overdue,
      sums.notAssessed,
      sums.overdueNotAssessed,
    ];
  }

  private items(): string[] {
    return this.demands.flatMap((demands) => (demands ?? []).map(({ item }) => item));
  }
}
