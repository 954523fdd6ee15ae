import { isoWeek, mondayOf, productionDay, TICK_MS } from './naive-clock.js';
import { type Activity, type Boring, CODES, LENGTH_MM, type Shift, type World } from './worlds.js';

/** A second implementation of the ledger: every tick of five minutes is counted, without SQL or the service's code. */

export const TICKS_PER_HOUR = 12;

/** A fraction, rounded half away from zero; null without a numerator or with a denominator of 0. */
export const ratio = (above: number, below: number, decimals: number): string | null => {
  if (below === 0) return null;
  const scaled = BigInt(above) * 10n ** BigInt(decimals) * 2n;
  const digits = String((scaled / BigInt(below) + 1n) / 2n).padStart(decimals + 1, '0');
  return `${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
};

export const hours = (ticks: number): string => ratio(ticks, TICKS_PER_HOUR, 4) ?? '';
export const seconds = (ticks: number): string => `${ticks * 300}.000`;

export const chainage = (mm: number): string => {
  const digits = String(mm).padStart(7, '0');
  return `${digits.slice(0, -6)}+${digits.slice(-6, -3)}.${digits.slice(-3)}`;
};

const ticksOf = ({ start, end }: { start: number; end: number }): number[] =>
  Array.from({ length: (end - start) / TICK_MS }, (_, i) => start + i * TICK_MS);

export interface Tick {
  at: number;
  day: string;
  activity: Activity;
}

export interface Heap {
  ticks: number;
  activities: Map<Activity, number>;
}

export class NaiveLedger {
  readonly activities: Activity[];
  readonly borings: Boring[];
  /** Ticks of the requested production days. */
  readonly ticks: Tick[];
  private readonly days = new Map<number, string>();

  constructor(readonly world: World) {
    this.activities = world.shifts.flatMap((shift) => shift.activities);
    this.borings = world.shifts.flatMap((shift) => shift.borings);
    this.ticks = this.activities.flatMap((activity) =>
      ticksOf(activity).flatMap((at) => (this.asked(at) ? [{ at, day: this.dayOf(at), activity }] : [])),
    );
  }

  dayOf(at: number): string {
    const day = this.days.get(at) ?? productionDay(at, this.world.dayStart);
    this.days.set(at, day);
    return day;
  }

  /** Whether an instant lies in the requested production days. */
  asked(at: number): boolean {
    const { from, to } = this.world;
    const day = this.dayOf(at);
    return (from === null || day >= from) && (to === null || day <= to);
  }

  heaps(keyOf: (tick: Tick) => string | null, of: Tick[] = this.ticks): Map<string | null, Heap> {
    const heaps = new Map<string | null, Heap>();
    for (const tick of of) {
      const key = keyOf(tick);
      const heap = heaps.get(key) ?? { ticks: 0, activities: new Map<Activity, number>() };
      heap.ticks += 1;
      heap.activities.set(tick.activity, (heap.activities.get(tick.activity) ?? 0) + 1);
      heaps.set(key, heap);
    }
    return heaps;
  }

  /** Time that the programme does not plan. */
  lost(): Tick[] {
    return this.nonBoring().filter(({ activity }) => CODES[activity.code] !== 'planned_stop');
  }

  nonBoring(): Tick[] {
    return this.ticks.filter(
      ({ activity }) => !['boring', 'regripping', 'outside_working_time'].includes(CODES[activity.code]),
    );
  }

  faceMm(at: number): number {
    let face = 0;
    for (const { start, end, fromMm, mmPerTick } of this.borings)
      if (start <= at) face = fromMm + ((Math.min(at, end) - start) / TICK_MS) * mmPerTick;
    return face;
  }

  groundClass({ activity }: { activity: Activity }): string | null {
    const face = this.faceMm(activity.start);
    const { notes } = this.world;
    const note =
      notes.find(({ fromMm, toMm }) => fromMm <= face && face < toMm) ??
      notes.find(({ toMm }) => toMm === face);
    return note?.groundClass ?? null;
  }

  /** Bored millimetres by class, one by one. */
  boredMm(): Map<string | null, number> {
    const bored = new Map<string | null, number>();
    for (const { start, end, fromMm, mmPerTick } of this.borings)
      ticksOf({ start, end }).forEach((at, index) => {
        if (!this.asked(at)) return;
        for (let mm = 0; mm < mmPerTick; mm += 1) {
          const place = fromMm + index * mmPerTick + mm;
          const note = this.world.notes.find((n) => n.fromMm <= place && place < n.toMm);
          const key = note?.groundClass ?? null;
          bored.set(key, (bored.get(key) ?? 0) + 1);
        }
      });
    return bored;
  }

  /** `1+203.456 1+210.000`: the interval on round chainages that contains the face, limited to the drive. */
  interval({ activity }: { activity: Activity }): string {
    const { direction, startMm, lengthM } = this.world;
    const [step, endMm] = [lengthM * 1000, startMm + direction * LENGTH_MM];
    const face = startMm + direction * this.faceMm(activity.start);
    const [from, to] =
      direction === 1
        ? [Math.floor(face / step) * step, (Math.floor(face / step) + 1) * step]
        : [Math.ceil(face / step) * step, (Math.ceil(face / step) - 1) * step];
    return direction === 1
      ? `${chainage(Math.max(from, startMm))} ${chainage(Math.min(to, endMm))}`
      : `${chainage(Math.min(from, startMm))} ${chainage(Math.max(to, endMm))}`;
  }

  /** Whether no calendar shift is missing between two shifts: day and night of every date fill it without a gap. */
  private postedThroughout(one: Shift, other: Shift): boolean {
    const { shifts } = this.world;
    const between = shifts.slice(shifts.indexOf(one), shifts.indexOf(other));
    return between.every((shift, index) => shift.end === shifts[shifts.indexOf(one) + index + 1]?.start);
  }

  /**
   * Consecutive activities of one name that begin in the requested days.
   * @param isPause  activities that do not interrupt a run at a shift change, unless a shift in between was not posted; without it a run has no gap
   */
  runs(
    nameOf: (activity: Activity) => string | null,
    isPause?: (activity: Activity) => boolean,
  ): { name: string; activities: Activity[] }[] {
    const runs: { name: string; activities: Activity[] }[] = [];
    for (const activity of this.activities) {
      const name = nameOf(activity);
      if (name === null) continue;
      const goesOn = (last: Activity | undefined): boolean =>
        last !== undefined &&
        (last.end === activity.start ||
          (isPause !== undefined &&
            last.shift !== activity.shift &&
            this.postedThroughout(last.shift, activity.shift) &&
            this.activities.every((a) => a.start < last.end || a.start >= activity.start || isPause(a))));
      const run = runs.findLast((r) => r.name === name);
      if (run && goesOn(run.activities.at(-1))) {
        run.activities.push(activity);
        continue;
      }
      runs.push({ name, activities: [activity] });
    }
    return runs.filter(({ activities: [first] }) => first !== undefined && this.asked(first.start));
  }

  /** Ticks by period: of boring, of shifts, of shift time outside working time, of the calendar. */
  periods(by: 'drive' | 'week' | 'month') {
    const nameOf = (day: string): string =>
      by === 'drive' ? '' : by === 'week' ? isoWeek(day) : day.slice(0, 7);
    const periods = new Map<
      string,
      { days: string[]; boring: number; shifts: number; outside: number; calendar: number }
    >();
    const of = (at: number) => {
      const day = this.dayOf(at);
      const period = periods.get(nameOf(day)) ?? { days: [], boring: 0, shifts: 0, outside: 0, calendar: 0 };
      if (!period.days.includes(day)) period.days.push(day);
      periods.set(nameOf(day), period);
      return period;
    };
    const { shifts } = this.world;
    const [first, last] = [shifts[0], shifts.at(-1)];
    if (!first || !last) return periods;
    for (const at of ticksOf({ start: first.start, end: last.end })) if (this.asked(at)) of(at).calendar += 1;
    for (const at of shifts.flatMap(ticksOf)) if (this.asked(at)) of(at).shifts += 1;
    for (const { at, activity } of this.ticks) {
      if (CODES[activity.code] === 'boring') of(at).boring += 1;
      if (CODES[activity.code] === 'outside_working_time') of(at).outside += 1;
    }
    return periods;
  }
}

export const weekOf = ({ day }: Tick): string => `${isoWeek(day)} ${mondayOf(day)}`;
