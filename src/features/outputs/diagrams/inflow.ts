import type { Box, Point } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { axisEnds, roundStep } from '../../../engineering/axis-ticks.js';
import { chainageEnds, type Diagram } from './diagram.js';

interface Row {
  fromChainageM: number;
  toChainageM: number;
  measuredM: number;
  per100M: number | null;
  cumulated: number;
}

const INFLOW = `select i.from_chainage_m::float8 as "fromChainageM", i.to_chainage_m::float8 as "toChainageM", i.measured_m::float8 as "measuredM",
  i.per_100m_l_per_min::float8 as "per100M", i.cumulated_l_per_min::float8 as cumulated
  from inflow_in_intervals($1, $2, $3::numeric) i where i.to_m > $4::numeric and i.from_m < $5::numeric order by i.from_m`;

const MOST_INTERVALS = 200;
const LEAST_INTERVAL_M = 10;

const CAUTION =
  'Decision support: it shows what was measured. Length that nobody measured is not dry; what inflow means for support, grouting and pumping is for the project’s designer and the local code.';

export const INFLOW_ALONG: Diagram = {
  name: 'inflow',
  title: 'Water inflow along the drive',
  about:
    'Inflow per 100 m as measured along the drive, length without a measurement, and the inflow cumulated from the start',
  extent: 'chainage',
  takes: [],
  views: ['inflow_in_intervals'],
  show: async ({ statements, project, drive, window }) => {
    const ends = chainageEnds(window);
    const intervalM = Math.max(LEAST_INTERVAL_M, roundStep(ends.to - ends.from, MOST_INTERVALS));
    const rows = await readRows<Row>(
      statements,
      INFLOW,
      project,
      drive,
      String(intervalM),
      window.lowM,
      window.highM,
    );
    const period = `${window.from} to ${window.to}, by ${intervalM} m`;
    if (rows.every(({ measuredM }) => measuredM === 0))
      return { period, panels: [], notes: [CAUTION], empty: 'No inflow is measured in this part.' };
    const bars = rows.flatMap(({ fromChainageM, toChainageM, per100M }): Box[] =>
      per100M ? [{ fromX: fromChainageM, toX: toChainageM, fromY: 0, toY: per100M }] : [],
    );
    const gaps = rows.flatMap(({ fromChainageM, toChainageM, measuredM }): Box[] =>
      measuredM === 0 ? [{ fromX: fromChainageM, toX: toChainageM, fromY: -0.42, toY: 0.42 }] : [],
    );
    const cumulated = rows.map(({ toChainageM, cumulated: sum }): Point => [toChainageM, sum]);
    const start = { kind: 'chainage' as const, label: '', isBare: true, ...ends };
    return {
      period,
      notes: [
        'An interval is measured where any of it is; its inflow per 100 m is of the metres measured.',
        CAUTION,
      ],
      panels: [
        {
          height: { share: 3 },
          x: start,
          y: {
            kind: 'number',
            label: 'Inflow per 100 m [l/min]',
            ...axisEnds(
              bars.map(({ toY }) => toY),
              5,
            ),
          },
          series: [{ kind: 'boxes', name: 'inflow per 100 m', look: 0, boxes: bars }],
        },
        {
          height: { share: 2 },
          x: start,
          y: {
            kind: 'number',
            label: 'Inflow cumulated from the start of the drive [l/min]',
            ...axisEnds(
              rows.map(({ cumulated: sum }) => sum),
              4,
            ),
          },
          series: [{ kind: 'line', name: 'cumulated inflow', look: 0, points: cumulated }],
        },
        {
          height: { px: 22 },
          x: { kind: 'chainage', label: 'chainage [km + m]', ...ends },
          y: { kind: 'lanes', label: '', from: -0.5, to: 0.5, lanes: ['not measured'] },
          series: [{ kind: 'boxes', name: 'not measured', look: 7, boxes: gaps }],
        },
      ],
    };
  },
};
