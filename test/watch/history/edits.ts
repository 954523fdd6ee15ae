import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { PROJECT } from '../../builders/project.js';
import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import type { TestApp } from '../../harness/app.js';

/** One edit of the trial project, valid or not. */
type Edit = (app: TestApp) => Promise<unknown>;

const P = `/v1/projects/${PROJECT}`;
const DRIVE = `${P}/drives/N`;

const slot = fc.nat({ max: 9 });
const SLOT_MM = 3000;

const place = (slotNumber: number): { date: string; shift: 'day' | 'night' } => ({
  date: `2027-03-${String(1 + Math.floor(slotNumber / 2)).padStart(2, '0')}`,
  shift: slotNumber % 2 === 0 ? 'day' : 'night',
});

const shiftPath = (slotNumber: number): string => {
  const { date, shift } = place(slotNumber);
  return `${DRIVE}/shifts/${date}/${shift}`;
};

interface ShiftTrial {
  slot: number;
  strokes: number;
  missingMm: number;
  submitted: boolean;
  bolts: number;
  ground: 'A' | 'B' | undefined;
}

/** Strokes of equal length over the slot's three metres, half an hour each; the last may be short. */
const documentOf = ({ slot: number, strokes, missingMm, submitted, bolts, ground }: ShiftTrial): object => {
  const { date, shift } = place(number);
  const start = shift === 'day' ? 6 : 18;
  const clock = (halfHours: number): string => {
    const minutes = start * 60 + halfHours * 30;
    const time = `${String(Math.floor(minutes / 60) % 24).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
    return minutes >= 24 * 60 ? `+1 ${time}` : time;
  };
  const at = (mm: number): string => formatChainage(1_200_000 + number * SLOT_MM + mm);
  const built: ShiftBuilder = aShift(date, shift);
  for (let stroke = 0; stroke < strokes; stroke += 1) {
    const from = Math.round((SLOT_MM / strokes) * stroke);
    const to = Math.round((SLOT_MM / strokes) * (stroke + 1)) - (stroke === strokes - 1 ? missingMm : 0);
    const means = { thrustKn: 9000 + 100 * bolts, torqueKnm: 1500, rotationRpm: 6, penetrationMmPerRev: 8 };
    built.withStroke(10 * number + stroke, at(from), at(to), clock(stroke), clock(stroke + 1), means);
  }
  if (strokes > 0) built.withActivity('BORE', clock(0), clock(strokes));
  built.withActivity('MAINT', clock(strokes), clock(24));
  built.withSupport('BOLT', at(0), at(SLOT_MM), String(bolts));
  if (ground) built.withGround(ground, at(0), at(SLOT_MM));
  return (submitted ? built.submitted() : built).build();
};

const shiftPut: fc.Arbitrary<Edit> = fc
  .record({
    slot,
    strokes: fc.nat({ max: 3 }),
    missingMm: fc.constantFrom(0, 0, 0, 120),
    submitted: fc.nat({ max: 3 }).map((n) => n === 0),
    bolts: fc.integer({ min: 1, max: 9 }),
    ground: fc.constantFrom('A' as const, 'B' as const, undefined),
  })
  .map((trial): Edit => async ({ http }) => {
    const path = shiftPath(trial.slot);
    const { headers } = await http.get(path);
    const put = http.put(path).send(documentOf(trial));
    return headers['etag'] ? put.set('If-Match', headers['etag']) : put;
  });

const shiftRemoval: fc.Arbitrary<Edit> = slot.map(
  (number): Edit =>
    ({ http }) =>
      http.delete(shiftPath(number)).set('If-Match', '*'),
);

/** By SQL, as another person: local mode has only one user. */
const shiftMove = (from: string, to: string): fc.Arbitrary<Edit> =>
  slot.map((number): Edit => ({ sql }) => {
    const { date, shift } = place(number);
    return sql(
      `with who as materialized (select set_config('drivebook.actor', 'clara', true), set_config('drivebook.reason', 'trial', true))
       update shift s set state = $4::shift_state from calendar_shift n, who
       where n.id = s.calendar_shift_id and s.shift_date = $1::date and n.name = $2 and s.state = $3::shift_state`,
      [date, shift, from, to],
    ).catch((error: unknown) => error);
  });

const put =
  (path: string, body: object): Edit =>
  ({ http }) =>
    http.put(`${P}${path}`).send(body);

const masterData: fc.Arbitrary<Edit> = fc.oneof(
  fc.nat({ max: 3 }).map((n) => put('/ground-classes/A', { description: `Good rock ${n}` })),
  fc
    .integer({ min: 40, max: 44 })
    .map((discCount) => put('/machines/M1', { name: 'TBM', discCount, discRadiusMm: '216' })),
  fc
    .constantFrom('00:00', '06:00')
    .map((dayStart) => put('', { name: 'Trial', timeZone: 'UTC', currency: 'EUR', dayStart })),
  fc.integer({ min: 1, max: 4 }).map((n) =>
    put('/drives/N/programmes/PLAN', {
      points: [
        { date: '2027-03-01', chainage: '1+200' },
        { date: `2027-03-${10 + n}`, chainage: formatChainage(1_200_000 + n * 10_000) },
      ],
    }),
  ),
  fc.integer({ min: 1, max: 5 }).map((log) =>
    put(`/drives/N/ground-logs/GL${log % 3}`, {
      from: formatChainage(1_200_000 + log * 2000),
      to: formatChainage(1_202_000 + log * 2000),
      mappedBy: 'ada',
      mappedAt: '2027-03-01T06:00:00Z',
      rqdPercent: 15 * log,
      q: {
        edition: 'q-2013',
        location: 'normal',
        jn: { row: 'F' },
        jr: { row: 'E' },
        ja: { row: 'B' },
        jw: { row: 'A' },
        srf: { row: 'G' },
      },
    }),
  ),
  fc.integer({ min: 1, max: 5 }).map((n) =>
    put(`/drives/N/discontinuities/D${n % 3}`, {
      chainage: formatChainage(1_200_000 + n * 1000),
      type: 'joint',
      dipDeg: 10 * n,
      dipDirectionDeg: 60,
      set: `J${n % 2}`,
    }),
  ),
  fc.integer({ min: 1, max: 5 }).map((n) =>
    put(`/drives/N/overbreak/OB${n % 3}`, {
      from: formatChainage(1_200_000 + n * 1000),
      to: formatChainage(1_202_000 + n * 1000),
      cause: 'geological',
      areaM2: n,
    }),
  ),
  fc.integer({ min: 1, max: 5 }).map((hole) =>
    put(`/drives/N/probe-holes/PH${hole % 3}`, {
      collar: formatChainage(1_200_000 + hole * 1000),
      lookOutDeg: '5',
      lengthM: String(10 * hole),
    }),
  ),
);

export const edits = (count: number): Edit[] =>
  fc.sample(
    fc.oneof(
      { weight: 12, arbitrary: shiftPut },
      { weight: 2, arbitrary: shiftRemoval },
      { weight: 3, arbitrary: shiftMove('submitted', 'countersigned') },
      { weight: 3, arbitrary: shiftMove('countersigned', 'draft') },
      { weight: 3, arbitrary: masterData },
    ),
    { numRuns: count },
  );
