import type { Pen, Place } from '../../../../common/drawing/drawing.js';
import { axisEnds } from '../../../../engineering/axis-ticks.js';
import { extremesByColumn } from '../../../../engineering/extremes.js';
import type { Panel } from '../panel.js';
import { endsOf, type Stroke } from '../strip-data.js';
import type { Drawn, Track } from './track.js';

const CURVE: Pen = { colour: '#111111', width: 0.18 };

/** Of the strokes within one such column only the extremes are drawn: it is narrower than a pen. [mm] */
const COLUMN_MM = 0.15;

/** The value of each stroke over its length, as a step line; null where there is none. [m] */
const steps = (strokes: Stroke[], of: (stroke: Stroke) => number | null): [number, number | null][] => {
  const points: [number, number | null][] = [];
  let until: number | undefined;
  for (const stroke of strokes) {
    const [low, high] = endsOf(stroke);
    const value = of(stroke);
    if (until !== undefined && until !== low) points.push([until, null]);
    points.push([low, value], [high, value]);
    until = high;
  }
  return points;
};

const draw = (panel: Panel, { rows }: Drawn, of: (stroke: Stroke) => number | null): void => {
  const { from, to } = axisEnds(
    rows.strokes.map((stroke) => of(stroke) ?? 0),
    4,
  );
  const y = panel.axis(from, to);
  const { lowM, highM, denominator } = panel.reach;
  const within = rows.strokes
    .filter((stroke) => panel.span(endsOf(stroke)))
    .map((stroke) => {
      const [low, high] = endsOf(stroke);
      return { ...stroke, fromM: Math.max(low, lowM), toM: Math.min(high, highM) };
    })
    .toSorted((one, other) => one.fromM - other.fromM);
  let line: Place[] = [];
  const end = (): void => {
    if (line.length > 1) panel.line(line, CURVE);
    line = [];
  };
  for (const [at, value] of extremesByColumn(steps(within, of), lowM, (COLUMN_MM * denominator) / 1000))
    if (value === null) end();
    else line.push([panel.x(at), y(value)]);
  end();
};

const curve = (
  name: string,
  title: string,
  under: string,
  about: string,
  of: (stroke: Stroke) => number | null,
): Track => ({
  ...{ name, title, under, about },
  height: () => 11,
  rows: ['strokes'],
  views: ['stroke'],
  draw: (panel, drawn) => draw(panel, drawn, of),
});

export const CURVES: Track[] = [
  curve(
    'thrust',
    'Thrust',
    'kN, mean of a stroke',
    'Mean total thrust of each stroke',
    ({ thrust }) => thrust,
  ),
  curve(
    'penetration',
    'Penetration',
    'mm/rev, mean of a stroke',
    'Mean penetration of each stroke',
    ({ penetration }) => penetration,
  ),
  curve(
    'torque-ratio',
    'Torque ratio',
    'measured to theoretical',
    'Torque ratio of each stroke',
    ({ torqueRatio }) => torqueRatio,
  ),
];
