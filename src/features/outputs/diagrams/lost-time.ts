import type { Point, Series } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { axisEnds } from '../../../engineering/axis-ticks.js';
import { daysInWords, type Diagram, short } from './diagram.js';

interface Row {
  code: string;
  description: string;
  countsAs: string;
  hours: number;
  share: string;
  cumulativeShare: number;
  /** number of all codes with lost time, including those not drawn */
  codes: number;
  allHours: string;
}

/** More bars would be unreadable; the smallest are left out. */
const MOST_CODES = 20;

const PARETO = `select l.code, l.description, l.counts_as as "countsAs", round(l.hours, 4)::float8 as hours, round(100 * l.share, 1)::text as share,
  (100 * l.cumulative_share)::float8 as "cumulativeShare", (count(*) over ())::int as codes, round(sum(l.hours) over (), 1)::text as "allHours"
  from ledger_pareto_of($1, 'lost', $2::date, $3::date) l where l.hours > 0 order by l.rank limit ${MOST_CODES}`;

const PERIOD = `select min(production_day) as first, max(production_day) as last from day_advance
  where drive_id = $1 and production_day >= coalesce($2::date, '-infinity') and production_day <= coalesce($3::date, 'infinity')`;

const LANE = 0.36;

/** With fewer bars, the bars do not become thicker. */
const LEAST_LANES = 6;

/** Time classes, each with its own look, which it keeps whatever others are shown. */
const KINDS = ['breakdown', 'ground', 'waiting', 'planned_stop', 'outside_working_time'];

const barsOf = (rows: Row[]): Series[] =>
  [...new Set(rows.map(({ countsAs }) => countsAs))].toSorted().map((kind) => ({
    kind: 'boxes',
    name: kind.replaceAll('_', ' '),
    look: KINDS.includes(kind) ? KINDS.indexOf(kind) : KINDS.length,
    boxes: rows.flatMap(({ countsAs, hours }, lane) =>
      countsAs === kind ? [{ fromX: 0, toX: hours, fromY: lane - LANE, toY: lane + LANE }] : [],
    ),
  }));

export const LOST_TIME: Diagram = {
  name: 'lost-time',
  title: 'Lost time by cause',
  about:
    'Hours that the programme does not plan, by activity code, the most first, with the running sum of their shares',
  extent: 'days',
  takes: [],
  views: ['ledger_pareto_of'],
  show: async ({ id, statements, days }) => {
    const [rows, [{ first, last }]] = await Promise.all([
      readRows<Row>(statements, PARETO, id, ...days),
      readRows<{ first?: string; last?: string }>(statements, PERIOD, id, ...days),
    ]);
    const period = daysInWords(first ?? undefined, last ?? undefined);
    if (rows.length === 0) return { period, panels: [], empty: 'No lost time is recorded in this period.' };
    const { codes, allHours } = rows[0];
    const cumulative: Point[] = rows.map(({ cumulativeShare }, lane) => [cumulativeShare, lane]);
    const more = codes > rows.length ? `; the ${rows.length} with the most of ${codes} codes` : '';
    const hours = rows.map((row) => row.hours);
    return {
      period: `${period}; ${short(allHours)} h lost in all${more}`,
      notes: [
        'Beside each bar: hours, and share of all lost time. Bars by the scale below, the line by that above.',
      ],
      panels: [
        {
          height: { share: 1 },
          x: {
            kind: 'number',
            label: 'Lost time [h]',
            ...axisEnds(
              hours.map((each) => each * 1.15),
              6,
            ),
          },
          top: { kind: 'number', label: 'Running sum of the shares [%]', from: 0, to: 100 },
          y: {
            kind: 'lanes',
            label: '',
            from: -0.5,
            to: Math.max(rows.length, LEAST_LANES) - 0.5,
            lanes: rows.map(({ code, description }) => `${code} ${description}`),
          },
          series: [
            ...barsOf(rows),
            {
              kind: 'line',
              name: 'running sum of the shares',
              look: 0,
              points: cumulative,
              isOnTop: true,
              isMarked: true,
              isWhole: true,
            },
            {
              kind: 'words',
              points: rows.map((row, lane) => [row.hours, lane]),
              labels: rows.map((row) => `${row.hours.toFixed(1)} h, ${row.share} %`),
            },
          ],
        },
      ],
    };
  },
};
