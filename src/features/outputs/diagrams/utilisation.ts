import type { Line, Point } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { dayAfter, daysInWords, type Diagram, NOTHING_BORED, timeOf } from './diagram.js';

interface Week {
  firstDay: string;
  lastDay: string;
  ofShift: number | null;
  ofWorking: number | null;
  ofCalendar: number | null;
}

const WEEKS = `select u.first_day as "firstDay", u.last_day as "lastDay", (100 * u.of_shift_time)::float8 as "ofShift",
  (100 * u.of_working_time)::float8 as "ofWorking", (100 * u.of_calendar_time)::float8 as "ofCalendar"
  from utilisation_by($1, 'week', $2::date, $3::date) u order by u.first_day`;

export const UTILISATION: Diagram = {
  name: 'utilisation',
  title: 'Utilisation by week',
  about: 'Boring hours of each ISO week over shift time, over working time and over calendar time',
  extent: 'days',
  takes: [],
  views: ['utilisation_by'],
  show: async ({ id, statements, days }) => {
    const weeks = await readRows<Week>(statements, WEEKS, id, ...days);
    const period = daysInWords(weeks[0]?.firstDay, weeks.at(-1)?.lastDay);
    if (weeks.length === 0) return { period, panels: [], empty: NOTHING_BORED };
    const line = (name: string, look: number, of: (week: Week) => number | null): Line => ({
      kind: 'line',
      name,
      look,
      isMarked: true,
      points: weeks.map((week): Point => [(timeOf(week.firstDay) + dayAfter(week.lastDay)) / 2, of(week)]),
    });
    return {
      period,
      notes: [
        'Points stand in the middle of the days of their week. A gap: no such time in the week. Working time is shift time without what is booked outside of it.',
      ],
      panels: [
        {
          height: { share: 1 },
          x: {
            kind: 'time',
            label: 'production day',
            from: timeOf(weeks[0].firstDay),
            to: dayAfter(weeks.at(-1)?.lastDay ?? ''),
          },
          y: { kind: 'number', label: 'Boring time in the time of the week [%]', from: 0, to: 100 },
          series: [
            line('of shift time', 0, ({ ofShift }) => ofShift),
            line('of working time', 1, ({ ofWorking }) => ofWorking),
            line('of calendar time', 2, ({ ofCalendar }) => ofCalendar),
          ],
        },
      ],
    };
  },
};
