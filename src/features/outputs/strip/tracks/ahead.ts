import { areaSample, lineSample, Row, THIN } from '../panel.js';
import { alongSheet, endsOf, short } from '../strip-data.js';
import type { Track } from './track.js';

const HOLE = { colour: '#111111', width: 0.25 };
const NO_COVER = { ...HOLE, dashes: [1.2, 0.8] };

const CAUTION =
  'Probing and grouting: decision support. What lies between and beyond the holes is not known from them; the project’s designer, the responsible engineer on site and the local code decide.';

/** Lanes of holes that lie beside each other; where more do, the last lane takes them. */
const LANES = 6;

export const PROBING: Track = {
  name: 'probing',
  title: 'Probe holes',
  under: 'collar to axial reach; water l/min',
  about: 'Probe holes from their collar to their reach along the axis, with their water',
  height: () => 14,
  rows: ['holes'],
  views: ['probe_hole_reading'],
  caution: CAUTION,
  draw: (panel, drawn) => {
    const until = new Array<number>(LANES).fill(-Infinity);
    const step = (panel.height - 1) / LANES;
    for (const hole of alongSheet(drawn.rows.holes)) {
      const ends = endsOf(hole);
      const free = until.findIndex((end) => end <= ends[0]);
      const lane = free < 0 ? LANES - 1 : free;
      until[lane] = Math.max(until[lane] ?? 0, ends[1] + (panel.reach.denominator * 2) / 1000);
      const span = panel.span(ends);
      if (!span) continue;
      const y = panel.top + 0.5 + (lane + 0.75) * step;
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
        panel.marks.push({ kind: 'dots', places: [[x, y]], radius: 0.5, fill: '#111111' });
      const water = hole.water === null ? '' : ` ${short(hole.water)} l/min`;
      const state = hole.state === 'drilled' ? '' : ` (${hole.state.replaceAll('_', ' ')})`;
      panel.label([`${hole.name}${water}${state}`, hole.name], [span[0] + 0.6, span[1]], [y - 1.9, y], {
        size: 1.6,
        isLevel: true,
      });
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
