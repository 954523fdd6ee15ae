import type { Box } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { axisEnds } from '../../../engineering/axis-ticks.js';
import { type Diagram, short } from './diagram.js';

interface Row {
  baseline: string;
  code: string | null;
  description: string | null;
  expectedPercent: number | null;
  metPercent: number | null;
  expectedM: string;
  metM: string;
  drivenM: string;
}

const CLASSES = `with named as (select min(b.baseline) as baseline from baseline_ground b where b.drive_id = $1 and ($4::text is null or b.baseline = $4))
  select named.baseline, b.ground_class_code as code, c.description, b.baseline_percent::float8 as "expectedPercent", b.encountered_percent::float8 as "metPercent",
    b.baseline_m::text as "expectedM", b.encountered_m::text as "metM", (sum(b.encountered_m) over ())::text as "drivenM"
  from named cross join lateral baseline_against_encountered($2, $3, named.baseline) b
  left join ground_class c on c.project_id = scope_project() and c.code = b.ground_class_code
  where named.baseline is not null order by b.ground_class_code nulls last`;

/** Each class has two bars, the expected length above the encountered one. */
const BAR = 0.36;

const LEAST_LANES = 4;

export const CLASS_SHARES: Diagram = {
  name: 'class-shares',
  title: 'Ground classes expected and met',
  about: 'Share of each ground class in the driven length: as a baseline expects it, and as it was met',
  extent: 'none',
  takes: ['baseline'],
  views: ['baseline_against_encountered', 'baseline_ground'],
  show: async ({ id, statements, project, drive, baseline }) => {
    const rows = await readRows<Row>(statements, CLASSES, id, project, drive, baseline ?? null);
    const period = rows[0]
      ? `baseline ${rows[0].baseline}, ${short(rows[0].drivenM)} m driven`
      : 'driven length';
    if (rows.length === 0) return { period, panels: [], empty: 'The drive has no baseline to compare with.' };
    if (rows.every(({ metPercent }) => metPercent === null))
      return { period, panels: [], empty: 'Nothing is driven yet: there is no ground to compare.' };
    const bars = (of: (row: Row) => number | null, isAbove: boolean): Box[] =>
      rows.flatMap((row, lane): Box[] => {
        const percent = of(row) ?? 0;
        const [fromY, toY] = isAbove ? [lane - BAR, lane] : [lane, lane + BAR];
        return percent > 0 ? [{ fromX: 0, toX: percent, fromY, toY }] : [];
      });
    const percents = rows.flatMap(({ expectedPercent, metPercent }) => [
      expectedPercent ?? 0,
      metPercent ?? 0,
    ]);
    return {
      period,
      notes: [
        'Met: by the governing class, which is that of the agreed decision, else as the shift noted it. Both sum to the driven length.',
      ],
      panels: [
        {
          height: { share: 1 },
          x: {
            kind: 'number',
            label: 'Share of the driven length [%]',
            ...axisEnds(
              percents.map((each) => each * 1.2),
              8,
            ),
          },
          y: {
            kind: 'lanes',
            label: '',
            from: -0.5,
            to: Math.max(rows.length, LEAST_LANES) - 0.5,
            lanes: rows.map(({ code, description }) =>
              code === null ? 'no class' : `${code} ${description ?? ''}`,
            ),
          },
          series: [
            {
              kind: 'boxes',
              name: 'expected by the baseline',
              look: 0,
              boxes: bars(({ expectedPercent }) => expectedPercent, true),
            },
            { kind: 'boxes', name: 'met', look: 1, boxes: bars(({ metPercent }) => metPercent, false) },
            {
              kind: 'words',
              points: rows.flatMap(({ expectedPercent, metPercent }, lane): [number, number][] => [
                [expectedPercent ?? 0, lane - BAR / 2],
                [metPercent ?? 0, lane + BAR / 2],
              ]),
              labels: rows.flatMap(({ expectedM, metM }) => [`${short(expectedM)} m`, `${short(metM)} m`]),
            },
          ],
        },
      ],
    };
  },
};
