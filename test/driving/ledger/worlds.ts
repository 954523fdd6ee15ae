import fc from 'fast-check';
import { dateAfter, instantOf, TICK_MS } from './naive-clock.js';

/** Invented records: shifts on the days around a clock change, activities in whole ticks of five minutes. */

export const CODES = {
  BORE: 'boring',
  REGRIP: 'regripping',
  MECH: 'breakdown',
  ELEC: 'breakdown',
  MAINT: 'planned_stop',
  SUPPORT: 'ground',
  WAIT: 'waiting',
  CLOSED: 'outside_working_time',
} as const;

export type Code = keyof typeof CODES;

export interface Activity {
  start: number;
  end: number;
  code: Code;
  party: string | null;
  equipment: string | null;
  shift: Shift;
}

/** Millimetres from the drive's start; each tick bores the same length. */
export interface Boring {
  number: number;
  start: number;
  end: number;
  fromMm: number;
  mmPerTick: number;
}

export interface Shift {
  date: string;
  name: 'day' | 'night';
  start: number;
  end: number;
  submitted: boolean;
  activities: Activity[];
  borings: Boring[];
}

export interface Note {
  fromMm: number;
  toMm: number;
  groundClass: string;
}

export interface World {
  dayStart: string;
  direction: 1 | -1;
  startMm: number;
  shifts: Shift[];
  notes: Note[];
  lengthM: number;
  from: string | null;
  to: string | null;
}

export const LENGTH_MM = 200_000;

export const DAY_STARTS = ['00:00', '06:00', '13:40'];

const plannedActivity = fc.record({
  gap: fc.constantFrom(0, 0, 0, 2, 5),
  ticks: fc.integer({ min: 1, max: 60 }),
  code: fc.constantFrom<Code>('BORE', 'MECH', ...(Object.keys(CODES) as Code[])),
  party: fc.constantFrom(null, 'contractor', 'employer', 'third_party'),
  equipment: fc.constantFrom(null, null, 'BELT', 'HEAD'),
  mmPerTick: fc.integer({ min: 1, max: 30 }),
  bored: fc.constantFrom(true, true, true, false),
});

const plannedShift = fc.record({
  worked: fc.constantFrom(true, true, true, true, false),
  submitted: fc.boolean(),
  activities: fc.array(plannedActivity, { minLength: 1, maxLength: 8 }),
});

const plan = fc.record({
  firstDate: fc.constantFrom('2027-03-26', '2027-10-29', '2026-12-30'),
  dayStart: fc.constantFrom(...DAY_STARTS),
  direction: fc.constantFrom<1 | -1>(1, -1),
  startMm: fc.constantFrom(1_200_000, 1_203_456),
  shifts: fc.array(plannedShift, { minLength: 3, maxLength: 8 }),
  notes: fc.array(
    fc.record({
      mm: fc.integer({ min: 1, max: 9000 }),
      groundClass: fc.constantFrom('A', 'B', 'C', null),
    }),
    { maxLength: 6 },
  ),
  lengthM: fc.constantFrom(1, 7, 100),
  from: fc.option(fc.nat({ max: 4 })),
  days: fc.option(fc.nat({ max: 3 })),
});

type Plan = typeof plan extends fc.Arbitrary<infer T> ? T : never;

const hoursOf = (date: string, name: Shift['name']): [number, number] =>
  name === 'day'
    ? [instantOf(date, '06:00'), instantOf(date, '18:00')]
    : [instantOf(date, '18:00'), instantOf(dateAfter(date, 1), '06:00')];

const worked = (planned: Plan): Shift[] => {
  const shifts: Shift[] = [];
  let [faceMm, number] = [0, 0];
  planned.shifts.forEach(({ worked: isWorked, submitted, activities }, slot) => {
    if (!isWorked) return;
    const date = dateAfter(planned.firstDate, Math.floor(slot / 2));
    const name = slot % 2 === 0 ? 'day' : 'night';
    const [start, end] = hoursOf(date, name);
    const shift: Shift = { date, name, start, end, submitted, activities: [], borings: [] };
    let at = start;
    activities.forEach(({ gap, ticks, code, party, equipment, mmPerTick, bored }, index) => {
      if (!submitted) at += gap * TICK_MS;
      const isLast = submitted && index === activities.length - 1;
      const until = isLast ? end : Math.min(at + ticks * TICK_MS, end);
      if (at >= until) return;
      shift.activities.push({ start: at, end: until, code, party, equipment, shift });
      if (code === 'BORE' && (submitted || bored)) {
        number += 1;
        shift.borings.push({ number, start: at, end: until, fromMm: faceMm, mmPerTick });
        faceMm += ((until - at) / TICK_MS) * mmPerTick;
      }
      at = until;
    });
    shifts.push(shift);
  });
  return shifts;
};

export const worlds: fc.Arbitrary<World> = plan.map((planned) => {
  let mm = 0;
  const notes = planned.notes.flatMap(({ mm: lengthMm, groundClass }) => {
    const note = { fromMm: mm, toMm: (mm += lengthMm), groundClass };
    return groundClass === null ? [] : [note as Note];
  });
  const from = planned.from === null ? null : dateAfter(planned.firstDate, planned.from);
  const first = from ?? planned.firstDate;
  const { dayStart, direction, startMm, lengthM } = planned;
  return {
    dayStart,
    direction,
    startMm,
    lengthM,
    notes,
    shifts: worked(planned),
    from,
    to: planned.days === null ? null : dateAfter(first, planned.days),
  };
});
