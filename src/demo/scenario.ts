import type { ProbeHoleInput } from '../features/ahead/probing/probe-hole.model.js';
import type { ShiftDocument } from '../features/driving/shifts/shift-document.model.js';
import { dateAfter, localInstant, localText, MINUTE } from './clock.js';
import { CORRECTION } from './contract.js';
import { atTheStart, Crew } from './crew.js';
import { LATE } from './events.js';
import { sequence } from './sequence.js';
import { groundOf, supportOf } from './support.js';

export interface DemoShift {
  date: string;
  shift: string;
  document: ShiftDocument;
}

export interface Scenario {
  shifts: DemoShift[];
  probeHoles: { name: string; input: ProbeHoleInput }[];
  /** Index of the shift that reaches the office last; those after it wait as drafts. */
  late: number;
}

const FIRST_DATE = '2021-03-16';
const SHIFT_COUNT = 31;
const SEED = 20_270_316;

/** The invented drive, the same on every call: 16 days of March 2021, day and night. */
export const scenario = (): Scenario => {
  const next = sequence(SEED);
  const state = atTheStart();
  const shifts = Array.from({ length: SHIFT_COUNT }, (_, index): DemoShift => {
    const date = dateAfter(FIRST_DATE, Math.floor(index / 2));
    const shift = index % 2 === 0 ? 'day' : 'night';
    const startsAt = localInstant(date, shift === 'day' ? 6 : 18);
    const endsAt = shift === 'day' ? localInstant(date, 18) : localInstant(dateAfter(date, 1), 6);
    const faceFromMm = state.faceMm;
    const crew = new Crew(state, next, startsAt, endsAt, `${date} ${shift}`);
    crew.work();
    const document: ShiftDocument = {
      state: 'submitted',
      crewLead: `Crew ${'ABC'.charAt((index + Math.floor(index / 14)) % 3)}`,
      strokes: crew.strokes,
      activities: crew.activities,
      support: supportOf(faceFromMm, state.faceMm, endsAt - 40 * MINUTE),
      ground: groundOf(faceFromMm, state.faceMm),
    };
    return { date, shift, document };
  });
  const last = shifts.at(-1);
  if (last) leaveUnfinished(last.document);
  const late = shifts.findIndex(({ date, shift }) => date === LATE.date && shift === LATE.shift);
  return { shifts, probeHoles: state.probing.holes, late };
};

/** The last sheet as it often arrives: the walk to the face is not booked, and one boring is booked too short. */
const leaveUnfinished = (document: ShiftDocument): void => {
  document.state = 'draft';
  document.remark = 'as handed in; to be completed by the office';
  document.activities = document.activities.filter(({ code }) => code !== 'CREW');
  const boring = document.activities.findLast(({ code }) => code === 'BORING');
  if (boring) boring.endedAt = localText(Date.parse(boring.endedAt) - 4 * MINUTE);
};

/** A shift as corrected after valuation 1 was certified. */
export const corrected = ({ document, ...key }: DemoShift): DemoShift => ({
  ...key,
  document: {
    ...document,
    support: document.support.map((line) =>
      line.item === CORRECTION.item
        ? { ...line, quantity: String(Number(line.quantity) - CORRECTION.fewer), remark: CORRECTION.reason }
        : line,
    ),
  },
});
