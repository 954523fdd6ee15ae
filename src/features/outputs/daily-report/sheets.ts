import { wordsOf } from '../../../common/words.js';
import type { SignedFor } from '../../site/parties/signed-for.model.js';
import type { DailyReport, DailyShift } from './daily-report.models.js';
import type { DailyQuarter, DailyTime } from './daily-entries.models.js';
import {
  type BarCell,
  type Block,
  lookOf,
  NOT_BOOKED,
  type Sheet,
  type SheetTable,
  TIME_LOOKS,
} from './sheet.js';
import { hoursAndMinutes } from './sheet-words.js';
import { alertTable, supportOfDay, tablesOf } from './shift-tables.js';

const placeOf = ({ project, projectName, drive, driveName }: DailyReport): string =>
  `${projectName} (${project}), drive ${driveName} (${drive})`;

const stateOfRecord = ({ change, changedClock }: DailyReport): string =>
  change == null ? 'Record without a change' : `Record as of change ${change}, ${changedClock ?? ''}`;

/** A time span; the end is written without its date if that is the date of the start. */
const span = (from: string, to: string): string =>
  `${from} – ${from.slice(0, 10) === to.slice(0, 10) ? to.slice(11) : to}`;

const chainages = ({
  fromChainage,
  faceChainage,
}: Pick<DailyShift, 'fromChainage' | 'faceChainage'>): string =>
  fromChainage == null ? 'no boring' : `${fromChainage} – ${faceChainage ?? ''}`;

const forParty = (who: string, party: SignedFor | null | undefined): string =>
  party == null ? who : `${who}, for ${party.name}`;

const acceptanceOf = ({ state, acceptance, disputedBy, disputeReason }: DailyShift): string =>
  [
    wordsOf(state),
    ...(acceptance === state ? [] : [wordsOf(acceptance)]),
    ...(disputedBy == null ? [] : [`disputed by ${disputedBy}: ${disputeReason ?? ''}`]),
  ].join('; ');

/** The bar of a shift: quarter-hours to scale, with their classes side by side. */
const barOf = (quarters: DailyQuarter[], times: DailyTime[], shiftSeconds: number): Block => {
  const cells: BarCell[] = [];
  let [current, at, most] = [0, 0, 0];
  for (const { quarter, startsLocal, countsAs, seconds } of quarters) {
    const length = Number(seconds);
    const from = at / shiftSeconds;
    at += length;
    const to = at / shiftSeconds;
    const look = lookOf(countsAs);
    if (quarter !== current) cells.push({ clock: startsLocal, from, to, parts: [], letter: look.letter });
    const cell = cells[cells.length - 1]!;
    if (quarter !== current || length > most) {
      cell.letter = look.letter;
      most = length;
    }
    current = quarter;
    cell.parts.push({ look, from, to });
    cell.to = to;
  }
  const looks = [...Object.values(TIME_LOOKS), NOT_BOOKED];
  const legend = looks.flatMap((look) =>
    times
      .filter(({ countsAs }) => lookOf(countsAs) === look)
      .map(({ seconds }) => ({ look, time: hoursAndMinutes(seconds) })),
  );
  const about = `Time of the shift by quarter of an hour: ${legend.map(({ look, time }) => `${look.words} ${time}`).join(', ')}.`;
  return { kind: 'bar', cells, legend, about };
};

const tableBlocks = (tables: SheetTable[]): Block[] => {
  const empty = tables.filter(({ rows }) => rows.length === 0);
  return [
    ...tables.filter(({ rows }) => rows.length > 0),
    ...(empty.length === 0
      ? []
      : [
          {
            kind: 'text' as const,
            title: 'Nothing recorded',
            text: `${empty.map(({ title }) => title.split(',')[0]!.toLowerCase()).join('; ')}.`,
          },
        ]),
  ];
};

const shiftSheet = (report: DailyReport, shift: DailyShift, place: number): Sheet => {
  const title = `Shift report ${shift.date} ${shift.shift}`;
  const posted = shift.postedBy.length === 0 ? '' : forParty(shift.postedBy.join(', '), shift.postedFor);
  const countersigned =
    shift.countersignedBy == null
      ? 'not countersigned in the record'
      : `countersigned ${shift.countersignedClock ?? ''} by ${forParty(shift.countersignedBy, shift.countersignedFor)}`;
  const [contractor, client] = report.signatures;
  return {
    title,
    place: placeOf(report),
    blocks: [
      {
        kind: 'facts',
        facts: [
          ['Production day', report.date],
          ['Shift', `${shift.shift}, ${span(shift.startsLocal, shift.endsLocal)}`],
          [
            'Advance',
            `${shift.advanceM} m in ${shift.strokeCount} ${shift.strokeCount === 1 ? 'stroke' : 'strokes'}`,
          ],
          ['Chainage', chainages(shift)],
          ['Total driven', `${shift.cumulativeM} m`],
          ['Boring', `${shift.boringHours} h`],
          ['Crew', shift.crewLead == null ? '' : `led by ${shift.crewLead}`],
          ['State', acceptanceOf(shift)],
        ],
      },
      barOf(shift.quarters, shift.times, Number(shift.seconds)),
      ...tableBlocks(tablesOf(shift)),
      { kind: 'text', title: 'Remarks', text: shift.remark ?? 'none' },
      { kind: 'caution', text: report.caution },
      {
        kind: 'signatures',
        signatures: [
          {
            side: contractor!.side,
            parties: contractor!.parties,
            record:
              posted === ''
                ? ''
                : `posted by ${posted}${shift.submittedClock == null ? '' : `, submitted ${shift.submittedClock}`}`,
          },
          { side: client!.side, parties: client!.parties, record: countersigned },
        ],
        notes: [
          `State: ${acceptanceOf(shift)}. Digest of the shift, SHA-256: ${shift.digest}`,
          `${stateOfRecord(report)}. If the digest in the record differs, this sheet shows another version of the shift. Times in ${report.timeZone}.`,
        ],
      },
    ],
    foot: `${title}, sheet ${place} of ${report.shifts.length} of production day ${report.date}, ${report.project} ${report.drive}, digest ${shift.digest.slice(0, 16)}…`,
  };
};

const daySheet = (report: DailyReport): Sheet => {
  const title = `Production day ${report.date}: totals`;
  const shifts: SheetTable = {
    kind: 'table',
    title: 'Shifts that start in the day',
    columns: [
      { title: 'Shift', kind: 'text', most: 90 },
      { title: 'Time', kind: 'text', most: 130 },
      { title: 'From', kind: 'text', most: 60 },
      { title: 'To', kind: 'text', most: 60 },
      { title: 'Advance [m]', kind: 'number' },
      { title: 'Strokes', kind: 'number' },
      { title: 'Boring [h]', kind: 'number' },
      { title: 'Crew lead', kind: 'text' },
      { title: 'State', kind: 'text', most: 70 },
      { title: 'Digest', kind: 'text', most: 70 },
    ],
    rows: report.shifts.map((shift) => ({
      cells: [
        `${shift.date} ${shift.shift}`,
        span(shift.startsLocal, shift.endsLocal).slice(11),
        shift.fromChainage ?? '',
        shift.faceChainage ?? '',
        shift.advanceM,
        String(shift.strokeCount),
        shift.boringHours,
        shift.crewLead ?? '',
        wordsOf(shift.acceptance),
        `${shift.digest.slice(0, 12)}…`,
      ],
    })),
  };
  const times: SheetTable = {
    kind: 'table',
    title: 'Time booked in the day, by class',
    columns: [
      { title: 'Letter', kind: 'text', most: 30 },
      { title: 'Time [h:mm]', kind: 'text', most: 60 },
      { title: 'Class', kind: 'text' },
    ],
    rows: report.times.map(({ countsAs, seconds }) => ({
      cells: [lookOf(countsAs).letter, hoursAndMinutes(seconds), lookOf(countsAs).words],
    })),
  };
  return {
    title,
    place: placeOf(report),
    blocks: [
      {
        kind: 'facts',
        facts: [
          ['Production day', span(report.startsLocal, report.endsLocal)],
          [
            'Advance',
            `${report.advanceM} m in ${report.strokeCount} ${report.strokeCount === 1 ? 'stroke' : 'strokes'}`,
          ],
          ['Chainage', chainages(report)],
          ['Total driven', `${report.cumulativeM} m`],
          ['Boring', `${report.boringHours} h`],
          ['Not posted', report.missingShifts.join(', ') || 'none'],
        ],
      },
      ...tableBlocks([
        shifts,
        times,
        supportOfDay(report.support),
        alertTable('Open alerts of the drive', report.openAlerts),
      ]),
      {
        kind: 'text',
        title: 'Counting',
        text: 'Each sheet shows the whole shift. Advance, boring and time of the day cover what falls within the day, so a shift that runs past the start of the next day counts in both.',
      },
      { kind: 'caution', text: report.caution },
      {
        kind: 'text',
        title: 'Record',
        text: `${stateOfRecord(report)}. Times in ${report.timeZone}.`,
      },
    ],
    foot: `${title}, ${report.project} ${report.drive}`,
  };
};

/** One sheet per shift, then the totals of the day. */
export const sheetsOf = (report: DailyReport): Sheet[] => [
  ...report.shifts.map((shift, index) => shiftSheet(report, shift, index + 1)),
  daySheet(report),
];
