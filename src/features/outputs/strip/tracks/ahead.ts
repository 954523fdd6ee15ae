import { areaSample, lineSample, Row, THIN } from '../panel.js';
import { alongSheet, endsOf, type Hole, short } from '../strip-data.js';
import type { Track } from './track.js';

const HOLE = { colour: '#111111', width: 0.25 };
const NO_COVER = { ...HOLE, dashes: [1.2, 0.8] };

const CAUTION =
  'Probing and grouting: decision support. What lies between and beyond the holes is not known from them; the project’s designer, the responsible engineer on site and the local code decide.';

/** Minimum number of lanes for overlapping holes; the last lane takes any further holes. */
const LEAST_LANES = 4;
const MOST_LANES = 12;
/** Space between two holes in a lane, at a scale at which they are drawn individually. [m] */
const APART_M = 1;

interface Placed {
  hole: Hole;
  lane: number;
}

/** All holes of the interval, each in the first free lane, so that a hole keeps its lane from sheet to sheet. */
const lanesOf = (holes: readonly Hole[]): Placed[] => {
  const until: number[] = [];
  return alongSheet(holes).map((hole) => {
    const [low, high] = endsOf(hole);
    const free = until.findIndex((end) => end <= low);
    const lane = free < 0 ? Math.min(until.length, MOST_LANES - 1) : free;
    until[lane] = Math.max(until[lane] ?? -Infinity, high + APART_M);
    return { hole, lane };
  });
};

const laneCount = (placed: readonly Placed[]): number =>
  Math.max(LEAST_LANES, ...placed.map(({ lane }) => lane + 1));

export const PROBING: Track = {
  name: 'probing',
  title: 'Probe holes',
  under: 'collar to axial reach; water l/min',
  about: 'Probe holes from their collar to their reach along the axis, with their water',
  height: ({ rows }) => 1 + 2.6 * laneCount(lanesOf(rows.holes)),
  rows: ['holes'],
  views: ['probe_hole_reading'],
  caution: CAUTION,
  draw: (panel, drawn) => {
    const placed = lanesOf(drawn.rows.holes);
    const step = (panel.height - 1) / laneCount(placed);
    const names = new Map<number, Row>();
    for (const { hole, lane } of placed) {
      const span = panel.span(endsOf(hole));
      if (!span) continue;
      const y = panel.top + 0.5 + (lane + 0.8) * step;
      const pen = hole.givesCover ? HOLE : NO_COVER;
      panel.line(
        [
          [span[0], y],
          [span[1], y],
        ],
        pen,
      );
      const x = panel.x(hole.fromM);
      if (x >= span[0] && x <= span[1])
        panel.marks.push({
          kind: 'dots',
          places: [[x, y]],
          radius: Math.min(0.5, step * 0.2),
          fill: '#111111',
        });
      const water = hole.water === null ? '' : ` ${short(hole.water)} l/min`;
      const state = hole.state === 'drilled' ? '' : ` (${hole.state.replaceAll('_', ' ')})`;
      const size = Math.min(1.6, step * 0.68);
      const row = names.get(lane) ?? new Row(panel, y - 0.62 * size, size);
      names.set(lane, row);
      const text = [`${hole.name}${water}${state}`, hole.name].find(
        (each) => panel.width(each, size) <= span[1] - span[0] - 1.2,
      );
      if (text !== undefined) row.put(text, (span[0] + span[1]) / 2);
      panel.explain(
        hole.givesCover ? 'hole' : 'hole no cover',
        hole.givesCover ? 'probe hole, dot at its collar' : 'probe hole that gives no cover',
        lineSample(pen),
      );
    }
  },
};

export const GROUTING: Track = {
  name: 'grouting',
  title: 'Grouting',
  under: 'dry mass kg',
  about: 'Grouting rounds over the length treated, with the dry mass of all mixes',
  height: () => 8,
  rows: ['grouting'],
  views: ['grouting_round'],
  caution: CAUTION,
  draw: (panel, { rows }) => {
    const row = new Row(panel, panel.bottom - 1.3);
    for (const round of alongSheet(rows.grouting)) {
      const span = panel.span(endsOf(round));
      if (!span) continue;
      const isAhead = round.purpose === 'pre_grouting';
      const hatch = isAhead ? 'dotted' : 'rising';
      panel.rect(span, [panel.top + 0.6, panel.bottom - 2.6], { hatch, pen: THIN });
      row.put(
        `${round.name}: ${short(round.mass)} kg, ${round.holes} holes${round.state === 'complete' ? '' : `, ${round.state.replaceAll('_', ' ')}`}`,
        (span[0] + span[1]) / 2,
      );
      panel.explain(
        `grout ${round.purpose}`,
        isAhead ? 'grouting ahead of the face' : 'grouting behind the face',
        areaSample({ hatch }),
      );
    }
  },
};
