import type { Box, Panel, Point } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { axisEnds } from '../../../engineering/axis-ticks.js';
import { dayAfter, daysInWords, type Diagram, HALF_A_DAY_MS, NOTHING_BORED, timeOf } from './diagram.js';

interface Row {
  day: string;
  advanceM: number;
  mean7: number | null;
  mean30: number | null;
  cumulativeM: number;
}

const DAYS = `select production_day as day, advance_m::float8 as "advanceM", mean_7_days_m::float8 as mean7, mean_30_days_m::float8 as mean30,
  cumulative_m::float8 as "cumulativeM" from day_advance_trend
  where drive_id = $1 and production_day >= coalesce($2::date, '-infinity') and production_day <= coalesce($3::date, 'infinity')
  order by production_day`;

const panelsOf = (rows: Row[]): Panel[] => {
  const time = { kind: 'time' as const, from: timeOf(rows[0].day), to: dayAfter(rows.at(-1)?.day ?? '') };
  const boxes = rows.map(({ day, advanceM }): Box => ({
    fromX: timeOf(day),
    toX: dayAfter(day),
    fromY: 0,
    toY: advanceM,
  }));
  const middle = (of: (row: Row) => number | null): Point[] =>
    rows.map((row) => [timeOf(row.day) + HALF_A_DAY_MS, of(row)]);
  const ends: Point[] = rows.map(({ day, cumulativeM }) => [dayAfter(day), cumulativeM]);
  const before = rows[0].cumulativeM - rows[0].advanceM;
  const cumulative = rows.map(({ cumulativeM }) => cumulativeM);
  return [
    {
      height: { share: 3 },
      x: { ...time, label: '', isBare: true },
      y: {
        kind: 'number',
        label: 'Advance of the production day [m/d]',
        ...axisEnds(
          rows.map(({ advanceM }) => advanceM),
          6,
        ),
      },
      series: [
        { kind: 'boxes', name: 'advance of the day', look: 0, boxes: boxes.filter(({ toY }) => toY > 0) },
        { kind: 'line', name: 'mean of 7 days', look: 1, points: middle(({ mean7 }) => mean7) },
        { kind: 'line', name: 'mean of 30 days', look: 2, points: middle(({ mean30 }) => mean30) },
      ],
    },
    {
      height: { share: 2 },
      x: { ...time, label: 'production day' },
      y: { kind: 'number', label: 'Advance since the start of the drive [m]', ...axisEnds(cumulative, 5) },
      series: [
        {
          kind: 'line',
          name: 'cumulative advance',
          look: 0,
          points: [[timeOf(rows[0].day), before], ...ends],
        },
      ],
    },
  ];
};

export const ADVANCE: Diagram = {
  name: 'advance',
  title: 'Daily and cumulative advance',
  about:
    'Advance of each production day with the means of the 7 and 30 days that end with it, and the advance since the start of the drive',
  extent: 'days',
  takes: [],
  views: ['day_advance_trend'],
  show: async ({ id, statements, days }) => {
    const rows = await readRows<Row>(statements, DAYS, id, ...days);
    const period = daysInWords(rows[0]?.day, rows.at(-1)?.day);
    if (rows.length === 0) return { period, panels: [], empty: NOTHING_BORED };
    const notes = [
      'A mean is drawn once there are that many days; days without boring count in it. Metres imported without times are in no day.',
    ];
    return { period, panels: panelsOf(rows), notes };
  },
};
