import { unitInWords, wordsOf } from '../../../common/words.js';
import type { DailyShift } from './daily-report.models.js';
import type { DailySupportSum, DailyWater } from './daily-entries.models.js';
import { grouped } from '../../../common/files/grouped.js';
import { hoursAndMinutes } from './sheet-words.js';
import { lookOf, type SheetTable } from './sheet.js';

/** Rounds half away from zero based on the decimal text: 6.85 becomes 6.9, although the nearest double is less. */
const rounded = (value: number, decimals: number): string => {
  const text = String(value);
  if (text.includes('e')) return value.toFixed(decimals);
  const [sign, digits] = value < 0 ? ['-', text.slice(1)] : ['', text];
  return `${sign}${Number(`${Math.round(Number(`${digits}e${decimals}`))}e-${decimals}`).toFixed(decimals)}`;
};

const figure = (value: number | null | undefined, decimals: number): string =>
  value == null ? '' : grouped(rounded(value, decimals));

const quantity = (value: string | null | undefined): string => (value == null ? '' : grouped(value));

/** Without trailing zeros, so that counts are whole numbers. */
export const short = (value: string | null | undefined): string =>
  value == null ? '' : grouped(value.includes('.') ? value.replace(/\.?0+$/, '') : value);

const text = (title: string, most?: number) =>
  most === undefined ? { title, kind: 'text' as const } : { title, kind: 'text' as const, most };
const number = (title: string) => ({ title, kind: 'number' as const });

const STROKE_COLUMNS = [
  number('No.'),
  text('From', 60),
  text('To', 60),
  number('Length [m]'),
  text('Start', 30),
  text('End', 30),
  text('Boring [h:mm]', 40),
  number('Thrust [kN]'),
  number('Torque [kNm]'),
  number('Speed [1/min]'),
  number('Penetr. [mm/rev]'),
  number('Gripper [bar]'),
  number('Muck [t]'),
];

const strokes = ({ strokes: all, advanceM, strokeCount }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Strokes, with mean readings',
  columns: STROKE_COLUMNS,
  rows: [
    ...all.map((stroke) => ({
      cells: [
        String(stroke.number),
        stroke.from,
        stroke.to,
        stroke.lengthM,
        stroke.startedClock,
        stroke.endedClock,
        hoursAndMinutes(stroke.boringSeconds),
        figure(stroke.thrustKn, 0),
        figure(stroke.torqueKnm, 0),
        figure(stroke.rotationRpm, 1),
        figure(stroke.penetrationMmPerRev, 1),
        figure(stroke.gripperPressureBar, 0),
        quantity(stroke.muckMassT),
      ],
    })),
    ...(all.length > 1 ? [{ cells: ['', `${strokeCount} strokes`, '', advanceM], isTotal: true }] : []),
  ],
});

const stops = ({ stops: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Stops, with cause and responsible party',
  columns: [
    text('Start', 30),
    text('End', 30),
    text('Time\u00a0[h:mm]', 40),
    text('Class', 24),
    text('Code', 60),
    text('Cause and remark'),
    text('Party', 60),
    text('Equipment', 60),
  ],
  rows: all.map((stop) => ({
    cells: [
      stop.startedClock,
      stop.endedClock,
      hoursAndMinutes(stop.seconds),
      lookOf(stop.countsAs).letter,
      stop.code,
      stop.remark == null ? stop.cause : `${stop.cause}: ${stop.remark}`,
      wordsOf(stop.party),
      stop.equipment ?? '',
    ],
  })),
});

const thickness = (least?: string | null, most?: string | null): string =>
  least === most ? short(least) : `${short(least)} – ${short(most)}`;

const support = ({ support: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Support installed, by zone',
  columns: [
    text('Zone', 40),
    text('Item', 70),
    text('Description'),
    text('From', 60),
    text('To', 60),
    number('Quantity'),
    text('Unit', 24),
    text('Thickness\u00a0[mm]', 60),
    number('Delivered\u00a0[m³]'),
    number('Lines'),
  ],
  rows: all.map((one) => ({
    cells: [
      one.zone,
      one.item,
      one.description,
      one.from,
      one.to,
      short(one.quantity),
      unitInWords(one.unit),
      thickness(one.leastThicknessMm, one.mostThicknessMm),
      quantity(one.deliveredVolumeM3),
      String(one.lineCount),
    ],
    ...(one.remarks.length > 0 ? { note: one.remarks.join('; ') } : {}),
  })),
});

export const supportOfDay = (all: DailySupportSum[]): SheetTable => ({
  kind: 'table',
  title: 'Support installed by these shifts, by zone',
  columns: [text('Zone', 40), text('Item', 70), text('Description'), number('Quantity'), text('Unit', 24)],
  rows: all.map(({ zone, item, description, quantity: sum, unit }) => ({
    cells: [zone, item, description, short(sum), unitInWords(unit)],
  })),
});

const ground = ({ ground: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Ground encountered',
  columns: [
    text('From', 60),
    text('To', 60),
    number('Length\u00a0[m]'),
    text('Class', 50),
    text('Lithology', 150),
    text('Remark'),
  ],
  rows: all.map((piece) => ({
    cells: [
      piece.from,
      piece.to,
      piece.lengthM,
      piece.groundClass,
      piece.lithology ?? '',
      piece.remark ?? '',
    ],
  })),
});

const groundLogs = ({ groundLogs: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Ground logs mapped',
  columns: [
    text('Log', 70),
    text('From', 60),
    text('To', 60),
    text('Lithology'),
    number('Q'),
    number('RMR'),
    number('GSI'),
    text('Mapped by', 90),
  ],
  rows: all.map((log) => ({
    cells: [
      log.name,
      log.from,
      log.to,
      log.lithology ?? '',
      log.q == null ? '' : String(Number(log.q.toPrecision(3))),
      log.rmr == null ? '' : String(log.rmr),
      short(log.gsi),
      log.mappedBy ?? '',
    ],
  })),
});

const probing = ({ probeHoles }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Probe holes drilled',
  columns: [
    text('Hole', 60),
    text('Time', 30),
    text('Collar', 60),
    text('Reaches to', 60),
    number('Position\u00a0[°]'),
    number('Look-out\u00a0[°]'),
    number('Length\u00a0[m]'),
    number('Water\u00a0[l/min]'),
    number('at depth\u00a0[m]'),
    text('Cover', 26),
    text('State', 50),
    text('Remark'),
  ],
  rows: probeHoles.map((hole) => ({
    cells: [
      hole.name,
      hole.drilledClock,
      hole.collar,
      hole.reach,
      short(hole.positionDeg),
      short(hole.lookOutDeg),
      short(hole.lengthM),
      short(hole.waterInflowLPerMin),
      short(hole.waterDepthM),
      hole.givesCover ? 'yes' : 'no',
      wordsOf(hole.state),
      hole.remark ?? '',
    ],
  })),
});

const placeOf = ({ place, from, to, hole }: DailyWater): string => {
  if (place === 'portal') return 'portal';
  if (hole != null) return `hole ${hole}`;
  return `${from ?? ''} – ${to ?? ''}`;
};

const water = ({ water: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Water measured',
  columns: [
    text('Measurement', 70),
    text('Time', 30),
    text('Place', 120),
    text('Method', 60),
    number('Inflow\u00a0[l/min]'),
    number('Test\u00a0[Lu]'),
    text('Class', 60),
    text('Remark'),
  ],
  rows: all.map((one) => ({
    cells: [
      one.name,
      one.measuredClock,
      placeOf(one),
      one.place == null ? 'water test' : wordsOf(one.method),
      short(one.inflowLPerMin),
      short(one.representativeLu),
      wordsOf(one.lugeonClass),
      one.remark ?? '',
    ],
  })),
});

const grouting = ({ grouting: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Grouting, by round',
  columns: [
    text('Round', 70),
    text('Purpose', 80),
    text('From', 60),
    text('To', 60),
    text('State', 60),
    number('Holes'),
    number('Length\u00a0[m]'),
    number('Dry\u00a0mass\u00a0[kg]'),
    number('Pressure\u00a0[bar]'),
    text('Remark'),
  ],
  rows: all.map((round) => ({
    cells: [
      round.name,
      wordsOf(round.purpose),
      round.from,
      round.to,
      wordsOf(round.state),
      String(round.holeCount),
      short(round.holeM),
      short(round.massKg),
      short(round.pressureEndBar),
      round.remark ?? '',
    ],
  })),
});

const openItems = ({ openItems: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Open items',
  columns: [text('Kind', 110), text('What')],
  rows: all.map(({ kind, detail }) => ({ cells: [wordsOf(kind), detail] })),
});

export const alertTable = (title: string, alerts: DailyShift['alerts']): SheetTable => ({
  kind: 'table',
  title,
  columns: [number('No.'), text('Raised', 80), text('Alert'), text('Acknowledged by', 90), text('State', 40)],
  rows: alerts.map(({ number: no, raisedClock, text: words, acknowledgedBy, isOpen }) => ({
    cells: [
      String(no),
      raisedClock,
      words,
      acknowledgedBy ?? 'not acknowledged',
      isOpen ? 'open' : 'cleared',
    ],
  })),
});

const photos = ({ photos: all }: DailyShift): SheetTable => ({
  kind: 'table',
  title: 'Photos and notes, by number',
  columns: [number('No.'), text('Caption'), text('File', 160)],
  rows: all.map(({ number: no, caption, fileName }) => ({ cells: [String(no), caption ?? '', fileName] })),
});

/** The tables on the sheet of a shift, in the usual order of a shift report, including empty ones. */
export const tablesOf = (shift: DailyShift): SheetTable[] => [
  strokes(shift),
  stops(shift),
  support(shift),
  ground(shift),
  groundLogs(shift),
  probing(shift),
  water(shift),
  grouting(shift),
  openItems(shift),
  alertTable('Alerts raised', shift.alerts),
  photos(shift),
];
