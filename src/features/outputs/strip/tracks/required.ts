import type { TextWidths } from '../../../../common/charts/fonts.js';
import type { Mark } from '../../../../common/drawing/drawing.js';
import type { HatchName } from '../../../../common/drawing/hatches.js';
import { unitInWords } from '../../../../common/words.js';
import { parseChainage } from '../../../../engineering/chainage.js';
import { areaSample, GREY, THIN } from '../panel.js';
import { type Required, short } from '../strip-data.js';
import { SUPPORT_CAUTION } from './support.js';
import type { Drawn, Track } from './track.js';

/** More lanes would be too low to read; the tables have all items. */
const MOST_LANES = 10;
const LANE = 3.4;
/** In a lower box no figure is written; the tables have it. [mm] */
const LEAST_LETTERS = 1.9;

/** Width for the name of a lane beside the title of the track. [mm] */
const NAME_MM = 20;

const laneOf = ({ item, zone }: Required): string =>
  item === null ? 'not assessed' : `${item} ${zone ?? ''}`;

const nameOf = (lane: string, unit: string | null | undefined, widths: TextWidths): string => {
  const words = unit == null ? '' : ` [${unitInWords(unit)}]`;
  return widths.cut(lane, NAME_MM - widths.of(words, 1.6), 1.6) + words;
};

const isShown = ({ part, required, item }: Required): boolean =>
  part !== 'ahead_of_face' && (item === null || Number(required) > 0);

const lanesOf = ({ rows }: Drawn): string[] => [
  ...new Set(
    rows.required
      .filter(isShown)
      .toSorted((one, other) => {
        if (one.item === null || other.item === null)
          return Number(one.item === null) - Number(other.item === null);
        return (one.zone ?? '').localeCompare(other.zone ?? '') || one.item.localeCompare(other.item);
      })
      .map(laneOf),
  ),
];

const LOOKS: Record<string, { hatch?: HatchName; fill?: string; words: string }> = {
  missing: { hatch: 'dense', fill: '#f7d9cf', words: 'missing and due' },
  not_yet_due: { hatch: 'dotted', words: 'missing, not yet due' },
  within_tolerance: { hatch: 'level', fill: '#eef2ee', words: 'short, within tolerance' },
  complete: { fill: '#e4efe6', words: 'as required' },
  not_assessed: { hatch: 'falling', words: 'not assessed: no class, or class without support standard' },
};

const halvesSample = (x: number, y: number): Mark[] =>
  [0, 2].map((down): Mark => ({ kind: 'rect', x, y: y + down, width: 8, height: 2, pen: THIN }));

/** The driven part of an interval. [m] */
const drivenEnds = ({ from, to }: Required, { head }: Drawn): [number, number] => {
  const behind = (chainage: string): number =>
    head.direction > 0 ? Math.min(metresOf(chainage), head.faceM) : Math.max(metresOf(chainage), head.faceM);
  const [one, other] = [behind(from), behind(to)];
  return [Math.min(one, other), Math.max(one, other)];
};

const metresOf = (chainage: string): number => parseChainage(chainage) / 1000;

export const REQUIRED: Track = {
  name: 'required',
  title: 'Support required',
  under: 'installed / required',
  about: 'Support required against support installed, by item and zone',
  height: (drawn) => LANE * Math.max(2, Math.min(MOST_LANES, lanesOf(drawn).length)),
  rows: ['required'],
  views: ['missing_support_between'],
  caution: SUPPORT_CAUTION,
  draw: (panel, drawn) => {
    const all = lanesOf(drawn);
    const lanes = all.slice(0, MOST_LANES);
    const height = panel.height / Math.max(1, lanes.length);
    lanes.forEach((lane, index) => {
      const top = panel.top + index * height;
      const rows = drawn.rows.required.filter((row) => isShown(row) && laneOf(row) === lane);
      panel.headText(nameOf(lane, rows[0]?.unit, panel.widths), top + height / 2, 1.6);
      const cells = new Map<string, Required[]>();
      for (const row of rows) {
        const cell = `${row.from} ${row.to}`;
        cells.set(cell, [...(cells.get(cell) ?? []), row]);
      }
      for (const parts of cells.values())
        parts.forEach((row, place) => {
          const span = panel.span(drivenEnds(row, drawn));
          if (!span) return;
          const look = LOOKS[row.state] ?? { words: row.state.replaceAll('_', ' ') };
          const high = (height - 0.4) / parts.length;
          const box: [number, number] = [top + 0.2 + place * high, top + 0.2 + (place + 1) * high];
          panel.rect(span, box, {
            ...(look.hatch ? { hatch: look.hatch } : {}),
            ...(look.fill ? { fill: look.fill } : {}),
            pen: THIN,
          });
          const isMissing = row.state === 'missing';
          panel.label(
            row.item === null || high < LEAST_LETTERS
              ? []
              : [`${short(row.installed)}/${short(row.required)}`],
            span,
            box,
            {
              size: Math.min(1.8, high * 0.8),
              isBold: isMissing,
              isOnHatch: look.hatch !== undefined,
              isLevel: true,
            },
          );
          if (parts.length > 1 && place > 0)
            panel.explain('required halves', 'above: due; below: not yet due', halvesSample);
          panel.explain(`required ${row.state}`, look.words, areaSample(look));
        });
    });
    if (all.length > lanes.length)
      panel.heads.push({
        ...{ kind: 'text', text: `the first ${lanes.length} of ${all.length}`, x: 21, y: panel.bottom - 0.6 },
        ...{ size: 1.5, colour: GREY },
      });
  },
};
