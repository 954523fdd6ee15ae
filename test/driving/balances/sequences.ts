import fc from 'fast-check';
import { hoursOf, type NaiveActivity, type NaiveBoring, type NaiveShift } from './naive-record.js';

interface Plan {
  /** half hours of standstill and of boring, alternately */
  spans: { wait: number; bore: number; lengthMm: number; sameStroke: boolean }[];
  submitted: boolean;
}

const plan: fc.Arbitrary<Plan> = fc.record({
  spans: fc.array(
    fc.record({
      wait: fc.integer({ min: 0, max: 5 }),
      bore: fc.integer({ min: 1, max: 3 }),
      lengthMm: fc.integer({ min: 7, max: 600 }),
      sameStroke: fc.boolean(),
    }),
    { maxLength: 3 },
  ),
  submitted: fc.boolean(),
});

const booked = (borings: NaiveBoring[], [start, end]: [number, number]): NaiveActivity[] => {
  const activities: NaiveActivity[] = [];
  let clock = start;
  for (const boring of borings) {
    if (boring.start > clock) activities.push({ code: 'MAINT', start: clock, end: boring.start });
    activities.push({ code: 'BORE', start: boring.start, end: boring.end });
    clock = boring.end;
  }
  if (clock < end) activities.push({ code: 'MAINT', start: clock, end });
  return activities;
};

/** Shifts that cover metres and minutes completely, in order of time. */
export const legalShifts: fc.Arbitrary<NaiveShift[]> = fc
  .array(plan, { minLength: 2, maxLength: 6 })
  .map((plans) => {
    let face = 0;
    let number = 0;
    return plans.map(({ spans, submitted }, slot) => {
      const hours = hoursOf(slot);
      let clock = hours[0];
      const borings = spans.map(({ wait, bore, lengthMm, sameStroke }) => {
        if (!sameStroke || number === 0) number += 1;
        const boring = {
          number,
          from: face,
          to: face + lengthMm,
          start: clock + wait,
          end: clock + wait + bore,
        };
        face = boring.to;
        clock = boring.end;
        return boring;
      });
      return { slot, submitted, borings, activities: booked(borings, hours) };
    });
  });

type Spoil = (shift: NaiveShift, amount: number) => void;

const SPOILS: Record<string, Spoil> = {
  'as it is': () => undefined,
  'begins further on or back': ({ borings }, amount) =>
    borings.slice(0, 1).forEach((b) => (b.from += amount)),
  'ends further on or back': ({ borings }, amount) => borings.slice(-1).forEach((b) => (b.to += amount)),
  'runs backwards': ({ borings }) => borings.slice(0, 1).forEach((b) => ([b.from, b.to] = [b.to, b.from])),
  'lies beyond the end': ({ borings }) =>
    borings.slice(-1).forEach((b) => ([b.from, b.to] = [b.from + 11_000, b.to + 11_500])),
  'earlier or later': ({ borings }, amount) =>
    borings.slice(0, 1).forEach((b) => ([b.start, b.end] = [b.start + (amount % 9), b.end + (amount % 9)])),
  'numbered otherwise': ({ borings }, amount) =>
    borings.slice(0, 1).forEach((b) => (b.number = Math.max(0, b.number + (amount % 3)))),
  'one boring less': ({ borings }) => void borings.pop(),
  'one activity less': ({ activities }) => void activities.pop(),
  'an activity longer': ({ activities }, amount) =>
    activities.slice(0, 1).forEach((a) => (a.end += Math.abs(amount % 3))),
  'an activity earlier': ({ activities }) => activities.slice(0, 1).forEach((a) => (a.start -= 1)),
  'boring booked as other time': ({ activities }) => activities.forEach((a) => (a.code = 'MAINT')),
  'the other state': (shift) => (shift.submitted = !shift.submitted),
};

/** Postings of the shifts of a legal sequence, intact and corrupted, in any order. */
export const postings: fc.Arbitrary<NaiveShift[]> = legalShifts.chain((shifts) =>
  fc.array(
    fc
      .record({
        slot: fc.nat({ max: shifts.length - 1 }),
        spoil: fc.constantFrom('as it is', ...Object.keys(SPOILS)),
        amount: fc.integer({ min: -30, max: 30 }),
      })
      .map(({ slot, spoil, amount }) => {
        const shift = structuredClone(shifts[slot]!);
        SPOILS[spoil]?.(shift, amount);
        return shift;
      }),
    { minLength: 4, maxLength: 12 },
  ),
);
