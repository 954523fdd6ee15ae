import { axisEnds } from '../../../../engineering/axis-ticks.js';
import type { Place } from '../../../../common/drawing/drawing.js';
import { areaSample, lineSample, Row, SMALL, THIN } from '../panel.js';
import { alongSheet, endsOf, short } from '../strip-data.js';
import type { Track } from './track.js';

const MEASURED = { colour: '#0b4f87', width: 0.4 };

export const WATER: Track = {
  name: 'water',
  title: 'Water',
  under: 'logs: l/min per 10 m',
  about: 'Water at the ground logs, inflow measured over lengths, and water tests at their collars',
  height: () => 15,
  rows: ['logs', 'inflow', 'tests'],
  views: ['ground_log', 'inflow', 'water_test'],
  caution:
    'Water: as observed, measured and tested at the recorded times; flow pattern and Lugeon value are suggestions.',
  draw: (panel, drawn) => {
    const { rows } = drawn;
    const middle = panel.top + 0.55 * panel.height;
    const { to } = axisEnds(
      rows.logs.map(({ inflow }) => inflow ?? 0),
      2,
    );
    const y = (value: number): number => middle - (value * (middle - panel.top - 1)) / to;
    panel.ticks([0, to].map((value) => ({ at: y(value), text: String(value) })));
    for (const log of rows.logs) {
      const span = panel.span(endsOf(log));
      if (!span) continue;
      if (log.inflow !== null) {
        panel.rect(span, [y(log.inflow), middle], { fill: '#cfe3f3', hatch: 'level', pen: THIN });
        panel.explain('water log', 'inflow of a ground log', areaSample({ fill: '#cfe3f3', hatch: 'level' }));
      }
      const words = [log.waterState ?? '', log.inflow === null ? '' : `${log.inflow}`].join(' ').trim();
      if (words === '') continue;
      const x = (span[0] + span[1] - panel.width(words)) / 2;
      const levels = [middle - 1.3, middle - 3.5, middle - 5.7];
      panel.beside(words, [
        ...levels.map((level): Place => [x, level]),
        ...levels.map((level): Place => [span[1] + 0.6, level]),
      ]);
    }
    const line = middle + 0.9;
    const lines: Place[] = [];
    const row = new Row(panel, line + 1.5);
    for (const each of alongSheet(rows.inflow)) {
      const span = panel.span(endsOf(each));
      if (!span) continue;
      lines.push([span[0], line], [span[1], line]);
      for (const x of span) lines.push([x, line - 0.7], [x, line + 0.7]);
      row.put(`${each.name}: ${short(each.inflow)} l/min`, (span[0] + span[1]) / 2);
      panel.explain('inflow', 'inflow measured over a length', lineSample(MEASURED));
    }
    panel.pieces(lines, MEASURED);
    const low = panel.bottom - 1;
    const tests = new Row(panel, low);
    for (const test of alongSheet(rows.tests)) {
      if (!panel.has(test.fromM, panel.reach.highM >= drawn.highM)) continue;
      const x = panel.x(test.fromM);
      panel.marks.push({
        kind: 'line',
        places: [
          [x - 0.8, low - 0.8],
          [x + 0.8, low - 0.8],
          [x, low + 0.8],
        ],
        isClosed: true,
        fill: '#ffffff',
        pen: THIN,
      });
      const words = `${test.name}${test.lugeon === null ? '' : `: ${test.lugeon} Lu`}`;
      const [after, width] = [x + 1.4, panel.width(words)];
      tests.put(words, after + width <= panel.right ? after : x - 1.4 - width, 'start');
      panel.explain('water test', 'water test, at the collar of its hole', (sx, sy) => [
        {
          kind: 'line',
          places: [
            [sx + 3.2, sy + 1.2],
            [sx + 4.8, sy + 1.2],
            [sx + 4, sy + 2.8],
          ],
          isClosed: true,
          pen: THIN,
        },
      ]);
    }
  },
};

export const OVERBREAK: Track = {
  name: 'overbreak',
  title: 'Overbreak',
  under: 'depth m; volume m³',
  about: 'Overbreak as surveyed: largest depth by height, volume in words, cause by hatch',
  height: () => 9,
  rows: ['overbreak'],
  views: ['overbreak'],
  draw: (panel, { rows }) => {
    const { to } = axisEnds(
      rows.overbreak.map(({ depth }) => depth ?? 0),
      2,
    );
    const y = panel.axis(0, to, 0.6);
    const row = new Row(panel, panel.top + 1.4);
    for (const each of alongSheet(rows.overbreak)) {
      const span = panel.span(endsOf(each));
      if (!span) continue;
      const hatch = each.cause === 'geological' ? 'falling' : 'grid';
      panel.rect(span, [each.depth === null ? panel.bottom - 2.5 : y(each.depth), y(0)], {
        ...(each.depth === null ? { pen: { ...THIN, dashes: [0.8, 0.6] } } : { hatch, pen: THIN }),
      });
      const words = each.volume === null ? each.name : `${each.name}: ${short(each.volume)} m³`;
      const [middle, width] = [(span[0] + span[1]) / 2, panel.width(words)];
      if (width + 1 <= span[1] - span[0])
        panel.label([words], span, [panel.bottom - SMALL * 1.6, panel.bottom - 0.4], { isOnHatch: true });
      else if (span[1] + width + 1 < panel.right) row.put(words, span[1] + 0.6, 'start');
      else row.put(words, middle);
      if (each.depth !== null)
        panel.explain(`overbreak ${each.cause}`, `overbreak, ${each.cause}`, areaSample({ hatch }));
      else
        panel.explain(
          'overbreak depth',
          'overbreak without a depth',
          areaSample({ pen: { ...THIN, dashes: [0.8, 0.6] } }),
        );
    }
  },
};
