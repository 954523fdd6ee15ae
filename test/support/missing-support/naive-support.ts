/**
 * Required against installed support by a second method: the drive as an array of millimetres, each with its demand and its installed
 * support. Quantities are integer billionths of the unit.
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
  /** Strokes along the drive, by their ends; lengths between them were not recorded. */
  strokes: [fromMm: number, toMm: number][];
  /** As noted by the shifts. */
  classes: { code: string; fromMm: number; toMm: number }[];
  /** An agreed decision governs alone; proposed and disputed ones are compared with the notes; withdrawn ones here were never agreed. */
  decisions: { code: string; state: string; fromMm: number; toMm: number }[];
  /** Agreed one after the other, and since withdrawn; they may overlap. */
  former: { code: string; fromMm: number; toMm: number }[];
  sections: { name: string; fromMm: number; toMm: number; demands: Demand[] }[];
  standards: Record<string, Demand[]>;
  limitsMm: Partial<Record<'L1' | 'L2', number>>;
  lines: Line[];
}

export const ZONES = ['L1', 'L2'] as const;

/** In billionths of the unit. */
const PIECE = 1_000_000_000n;
const THOUSANDTH = 1_000_000n;

export const faceOf = ({ strokes }: World): number => strokes.at(-1)?.[1] ?? 0;

interface Held {
  /** undefined: unknown. */
  demands: Demand[] | undefined;
  /** Whether each class considered at the place has a standard. */
  isKnown: boolean;
}

/** The demand at a millimetre. */
const heldAt = (world: World, mm: number): Held => {
  const over = <T extends { fromMm: number; toMm: number }>(list: T[]): T | undefined =>
    list.find(({ fromMm, toMm }) => fromMm <= mm && mm < toMm);
  const section = over(world.sections);
  if (section) return { demands: section.demands, isKnown: true };
  const decision = over(world.decisions.filter(({ state }) => state !== 'withdrawn'));
  const held =
    decision?.state === 'agreed'
      ? [decision]
      : [decision, over(world.classes), over(world.former.toReversed())].filter((one) => one !== undefined);
  const lists = held.map(({ code }) => world.standards[code]);
  const known = lists.filter((list) => list !== undefined);
  return {
    demands: known.length > 0 ? heaviest(known) : undefined,
    isKnown: held.length > 0 && known.length === lists.length,
  };
};

const heaviest = (lists: Demand[][]): Demand[] => {
  const heaviestOf: Record<string, Demand> = {};
  for (const demand of lists.flat()) {
    const key = demand.item + demand.zone;
    const other = heaviestOf[key] ?? demand;
    heaviestOf[key] = {
      ...demand,
      perM: Math.max(demand.perM, other.perM),
      tolerance: Math.min(demand.tolerance, other.tolerance),
    };
  }
  return Object.values(heaviestOf);
};

/** Rounds half away from zero, as the record does. */
const rounded = (numerator: number, denominator: number): number =>
  Math.floor((2 * numerator + denominator) / (2 * denominator));

/** The part of a line in each millimetre, in thousandths; at the end of the drive it goes to the millimetre before. */
const spreadOf = (
  { item, fromMm, toMm, quantity }: Line,
  lengthMm: number,
): [mm: number, thousandths: number][] => {
  if (fromMm === toMm) return [[Math.min(fromMm, lengthMm - 1), quantity]];
  const length = toMm - fromMm;
  if (item === 'BOLT') {
    const pieces = quantity / 1000; // each in the millimetre that contains its position
    return Array.from({ length: pieces }, (_, i) => [
      fromMm + Math.floor(((2 * i + 1) * length) / (2 * pieces)),
      1000,
    ]);
  }
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

/** Sums by a key of the millimetre, its part, the zone and the item. */
export class NaiveSupport {
  private readonly held: Held[];
  private readonly faceMm: number;

  constructor(private readonly world: World) {
    this.faceMm = faceOf(world);
    this.held = Array.from({ length: this.faceMm }, (_, mm) => heldAt(world, mm));
  }

  private partOf(mm: number, zone: 'L1' | 'L2'): string {
    if (mm >= this.faceMm) return 'ahead_of_face';
    if (!this.held[mm]?.demands) return 'not_assessed';
    return this.dueOf(mm, zone);
  }

  private dueOf(mm: number, zone: 'L1' | 'L2'): string {
    return mm < this.faceMm - (this.world.limitsMm[zone] ?? 0) ? 'due' : 'not_yet_due';
  }

  totals(cellOf: (mm: number) => number): Map<string, Total> {
    const totals = new Map<string, Total>();
    const at = (key: string): Total => {
      const total = totals.get(key) ?? { length: 0, required: 0n, tolerated: 0n, installed: 0n };
      totals.set(key, total);
      return total;
    };
    for (const [mm, { demands, isKnown }] of this.held.entries()) {
      if (!isKnown) at(`${cellOf(mm)} not_assessed - -`).length += 1;
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

  /** By zone: unsupported length, length of incomplete strokes, the overdue part of both, and the length not assessed. */
  behindFace(zone: 'L1' | 'L2'): number[] {
    const due = this.faceMm - (this.world.limitsMm[zone] ?? this.faceMm);
    const sums = { supportedTo: 0, incomplete: 0, overdue: 0, notAssessed: 0, overdueNotAssessed: 0 };
    for (const { from, to, unknown, lacks } of this.strokes(zone)) {
      const short = lacks.size > 0;
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

  /** With a zone's limit: up to where support must be complete after one more stroke, the length not assessed behind that, and the shortfall by item. */
  beforeNext(zone: 'L1' | 'L2', strokeMm: number): [number, number, Record<string, bigint>] | undefined {
    const limit = this.world.limitsMm[zone];
    if (limit === undefined) return undefined;
    const due = Math.max(Math.min(this.faceMm + strokeMm - limit, this.faceMm), 0);
    const behind = this.strokes(zone).filter(({ from }) => from < due);
    const missing: Record<string, bigint> = {};
    for (const { lacks } of behind)
      for (const [item, quantity] of lacks) missing[item] = (missing[item] ?? 0n) + quantity;
    return [due, behind.reduce((sum, { unknown }) => sum + unknown, 0), missing];
  }

  /**
   * The shortfall of strokes, by the key of the millimetre and part where it lies: pieces individually, otherwise evenly from where the item is
   * first demanded to where it is last, also over places between them that are not assessed.
   */
  local(cellOf: (mm: number) => number): Map<string, bigint> {
    const found = new Map<string, bigint>();
    const add = (mm: number, zone: 'L1' | 'L2', item: string, quantity: bigint): void => {
      const key = `${cellOf(mm)} ${this.dueOf(mm, zone)} ${zone} ${item}`;
      if (quantity !== 0n) found.set(key, (found.get(key) ?? 0n) + quantity);
    };
    for (const zone of ZONES)
      for (const { from, to, lacks } of this.strokes(zone))
        for (const [item, lack] of lacks) {
          const [first, end] = this.demanded(from, to, zone, item);
          if (item === 'BOLT') {
            const pieces = Number(lack / PIECE);
            for (let n = 1; n <= pieces; n += 1)
              add(first + Math.floor(((2 * n - 1) * (end - first)) / (2 * pieces)), zone, item, PIECE);
            continue;
          }
          // shares are rounded to a thousandth where the cell or the part changes
          let before = 0n;
          for (let mm = first; mm < end; mm += 1) {
            const place = `${cellOf(mm)} ${this.dueOf(mm, zone)}`;
            const isLast = mm + 1 === end;
            if (!isLast && `${cellOf(mm + 1)} ${this.dueOf(mm + 1, zone)}` === place) continue;
            const [part, length] = [BigInt(mm + 1 - first), BigInt(end - first) * THOUSANDTH];
            const share = isLast ? lack : ((2n * lack * part + length) / (2n * length)) * THOUSANDTH;
            add(mm, zone, item, share - before);
            before = share;
          }
        }
    return found;
  }

  /** Where in a stroke an item is demanded: from and to. */
  private demanded(from: number, to: number, zone: string, item: string): [number, number] {
    const isDemanded = (mm: number): boolean =>
      this.held[mm]?.demands?.some((demand) => demand.item === item && demand.zone === zone) ?? false;
    let [first, end] = [from, to];
    while (!isDemanded(first)) first += 1;
    while (!isDemanded(end - 1)) end -= 1;
    return [first, end];
  }

  /** By stroke: its ends, its length not assessed, and the shortfall of each item that is short: of bolts whole ones. */
  private strokes(zone: string): { from: number; to: number; unknown: number; lacks: Map<string, bigint> }[] {
    const bounds = [...new Set([0, ...this.world.strokes.flat()])].sort((a, b) => a - b);
    const totals = this.totals((mm) => bounds.findLastIndex((from) => from <= mm));
    const carried = new Map<string, [bigint, bigint]>();
    return bounds.slice(1).map((to, cell) => {
      const lacks = new Map<string, bigint>();
      for (const item of this.items()) {
        const parts = ['due', 'not_yet_due'].map((part) => totals.get(`${cell} ${part} ${zone} ${item}`));
        const sum = (of: (total: Total) => bigint): bigint =>
          parts.reduce((all, total) => all + (total ? of(total) : 0n), 0n);
        const lack = sum(({ required }) => required) - sum(({ installed }) => installed);
        const tolerated = sum(({ tolerated: part }) => part);
        if (item !== 'BOLT') {
          if (lack * 10_000n > tolerated) lacks.set(item, lack);
          continue;
        }
        // a fraction of a bolt is carried to the next stroke if bolts are demanded there
        const [short, allowed] = carried.get(item) ?? [0n, 0n];
        const now: [bigint, bigint] = [short + lack, allowed + tolerated];
        const isDemanded = sum(({ length }) => BigInt(length)) > 0n;
        if (!isDemanded || now[0] <= 0n) carried.delete(item);
        else if (now[0] >= PIECE && now[0] * 10_000n > now[1]) {
          lacks.set(item, now[0] - (now[0] % PIECE));
          carried.set(item, [now[0] % PIECE, 0n]);
        } else carried.set(item, now);
      }
      return {
        from: bounds[cell] ?? 0,
        to,
        unknown: totals.get(`${cell} not_assessed - -`)?.length ?? 0,
        lacks,
      };
    });
  }

  private items(): Set<string> {
    return new Set(this.held.flatMap(({ demands }) => (demands ?? []).map(({ item }) => item)));
  }
}
