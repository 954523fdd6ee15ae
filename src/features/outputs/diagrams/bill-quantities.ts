import type { Box } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { unitInWords } from '../../../common/words.js';
import { axisEnds } from '../../../engineering/axis-ticks.js';
import { type Diagram, short } from './diagram.js';

interface Row {
  valuation: number;
  state: string;
  cutOff: string;
  version: string;
  reference: string;
  description: string;
  unit: string;
  bill: string;
  toDate: string;
  /** as a percentage of the quantity in the bill; null: it has none [%] */
  percent: number | null;
  heldPercent: number | null;
  lines: number;
}

/** More bars would be unreadable. */
const MOST_ITEMS = 30;

const LINES = `select l.valuation_number as valuation, l.state, l.cut_off as "cutOff", l.bill_version as version, l.reference, l.description, l.unit,
  round(l.bill_quantity, l.decimals)::text as bill, round(l.to_date_quantity, l.decimals)::text as "toDate",
  (100 * l.to_date_quantity / nullif(l.bill_quantity, 0))::float8 as percent, (100 * l.held_quantity / nullif(l.bill_quantity, 0))::float8 as "heldPercent",
  (count(*) over ())::int as lines
  from valuation_line l where l.drive_id = $1 and l.valuation_number = (select max(v.number) from valuation v where v.drive_id = $1)
  order by l.bill_valid_from, l.position limit ${MOST_ITEMS}`;

const LANE = 0.36;
const LEAST_LANES = 6;

/** Longer bars are cut off and marked. [%] */
const MOST_PERCENT = 200;

export const BILL_QUANTITIES: Diagram = {
  name: 'bill-quantities',
  title: 'Quantities measured to date against the bill',
  about:
    'Each item of the bill: quantity measured to date by the newest valuation, as a share of the quantity of the bill, and what is held',
  extent: 'none',
  takes: [],
  views: ['valuation_line'],
  show: async ({ id, statements }) => {
    const rows = await readRows<Row>(statements, LINES, id);
    if (rows.length === 0)
      return {
        period: 'to date',
        panels: [],
        empty: 'There is no valuation yet: nothing is measured against the bill.',
      };
    const [{ valuation, state, cutOff, lines }] = rows;
    const shown = (percent: number | null): number => Math.min(Math.max(percent ?? 0, 0), MOST_PERCENT);
    const bars = (ends: (row: Row) => [number, number]): Box[] =>
      rows.flatMap((row, lane): Box[] => {
        const [fromX, toX] = ends(row);
        return toX > fromX ? [{ fromX, toX, fromY: lane - LANE, toY: lane + LANE }] : [];
      });
    const reach = (row: Row): number => shown((row.percent ?? 0) + (row.heldPercent ?? 0));
    return {
      period: `valuation ${valuation} (${state}), cut-off ${cutOff}${lines > rows.length ? `; the first ${rows.length} of ${lines} items` : ''}`,
      notes: [
        'Beside each bar: measured to date and quantity of the bill. Held: disputed, or of a class that is contested; it is in no other quantity.',
        `Items without a quantity of the bill have no bar. Bars end at ${MOST_PERCENT} %.`,
      ],
      panels: [
        {
          height: { share: 1 },
          x: {
            kind: 'number',
            label: 'Measured to date, of the quantity of the bill [%]',
            ...axisEnds([105, ...rows.map((row) => reach(row) * 1.3)], 8),
          },
          y: {
            kind: 'lanes',
            label: '',
            from: -0.5,
            to: Math.max(rows.length, LEAST_LANES) - 0.5,
            lanes: rows.map(({ reference, description }) => `${reference} ${description}`),
          },
          series: [
            {
              kind: 'boxes',
              name: 'measured to date',
              look: 0,
              boxes: bars((row) => [0, shown(row.percent)]),
            },
            { kind: 'boxes', name: 'held', look: 1, boxes: bars((row) => [shown(row.percent), reach(row)]) },
            {
              kind: 'line',
              name: 'quantity of the bill',
              look: 2,
              isWhole: true,
              points: [
                [100, -0.5],
                [100, Math.max(rows.length, LEAST_LANES) - 0.5],
              ],
            },
            {
              kind: 'words',
              points: rows.map((row, lane) => [reach(row), lane]),
              labels: rows.map(({ toDate, bill, unit, percent }) =>
                percent === null
                  ? `${short(toDate)} ${unitInWords(unit)}, none in the bill`
                  : `${short(toDate)} of ${short(bill)} ${unitInWords(unit)}`,
              ),
            },
          ],
        },
      ],
    };
  },
};
