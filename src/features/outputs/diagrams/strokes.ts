import type { Line, Panel, Point } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { axisEnds } from '../../../engineering/axis-ticks.js';
import { chainageEnds, type Diagram, type Reading } from './diagram.js';

interface Stroke {
  /** chainage of its middle [m] */
  at: number;
  penetration: number | null;
  ratio: number | null;
}

interface Bounds {
  lower: number | null;
  upper: number | null;
}

const STROKES = `select ((s.from_chainage_m + s.to_chainage_m) / 2)::float8 as at, s.penetration_mm_per_rev as penetration, s.torque_ratio as ratio
  from stroke s where s.drive_id = $1 and s.to_m > $2::numeric and s.from_m < $3::numeric order by s.from_m`;

const BOUNDS = `select torque_ratio_lower::float8 as lower, torque_ratio_upper::float8 as upper from machine_at_face($1)`;

const boundLines = ({ lower, upper }: Bounds, { from, to }: { from: number; to: number }): Line[] =>
  [lower, upper].flatMap((bound): Line[] =>
    bound === null
      ? []
      : [
          {
            kind: 'line',
            name: 'bounds of regular advance, machine at the face',
            look: 2,
            points: [
              [from, bound],
              [to, bound],
            ],
          },
        ],
  );

const panelsOf = (strokes: Stroke[], bounds: Bounds, { window }: Reading): Panel[] => {
  const ends = chainageEnds(window);
  const along = (of: (stroke: Stroke) => number | null): Point[] =>
    strokes.map((stroke) => [stroke.at, of(stroke)]);
  const known = (of: (stroke: Stroke) => number | null): number[] =>
    strokes.flatMap((stroke) => of(stroke) ?? []);
  return [
    {
      height: { share: 1 },
      x: { kind: 'chainage', label: '', isBare: true, ...ends },
      y: {
        kind: 'number',
        label: 'Penetration [mm/rev]',
        ...axisEnds(
          known(({ penetration }) => penetration),
          5,
        ),
      },
      series: [
        { kind: 'line', name: 'penetration', look: 0, points: along(({ penetration }) => penetration) },
      ],
    },
    {
      height: { share: 1 },
      x: { kind: 'chainage', label: 'chainage [km + m]', ...ends },
      y: {
        kind: 'number',
        label: 'Torque ratio [–]',
        ...axisEnds([...known(({ ratio }) => ratio), ...known(() => bounds.upper)], 5),
      },
      series: [
        { kind: 'line', name: 'torque ratio', look: 0, points: along(({ ratio }) => ratio) },
        ...boundLines(bounds, ends),
      ],
    },
  ];
};

export const STROKES_ALONG: Diagram = {
  name: 'strokes',
  title: 'Penetration and torque ratio along the drive',
  about:
    'Mean penetration and torque ratio of each stroke along the drive, with the bounds of regular advance',
  extent: 'chainage',
  takes: [],
  views: ['stroke', 'machine_at_face'],
  show: async (reading) => {
    const { id, statements, window } = reading;
    const [strokes, [bounds]] = await Promise.all([
      readRows<Stroke>(statements, STROKES, id, window.lowM, window.highM),
      readRows<Bounds>(statements, BOUNDS, id),
    ]);
    const period = `${window.from} to ${window.to}, ${strokes.length} ${strokes.length === 1 ? 'stroke' : 'strokes'}`;
    if (strokes.every(({ penetration, ratio }) => penetration === null && ratio === null))
      return { period, panels: [], empty: 'No stroke with penetration or torque is recorded in this part.' };
    return {
      period,
      notes: [
        'Strokes at their middle; of the strokes of one column of pixels the first, the least, the greatest and the last. The line is interrupted where a stroke has no value.',
      ],
      panels: panelsOf(strokes, bounds ?? { lower: null, upper: null }, reading),
    };
  },
};
