import type { Place } from '../../../../common/drawing/drawing.js';
import type { HatchName } from '../../../../common/drawing/hatches.js';
import { overlap, type Rectangle } from '../../../../common/drawing/rectangle.js';
import { unitInWords } from '../../../../common/words.js';
import { areaSample, type Panel, THIN } from '../panel.js';
import { endsOf, short, type Support } from '../strip-data.js';
import type { Drawn, Track } from './track.js';

export const SUPPORT_CAUTION =
  'Support: what the record holds, which may be late or incomplete. It is decision support and does not judge whether the support suffices: the project’s designer, the responsible engineer on site and the local code decide, by inspection.';

const zonesOf = ({ rows }: Drawn): string[] => [...new Set(rows.support.map(({ zone }) => zone))].toSorted();

/** Support drawn as areas, by kind. */
const AREAS: Record<string, HatchName> = {
  mesh: 'grid',
  sprayed_concrete: 'sandstone',
  cast_concrete: 'dense',
  cavity_fill: 'crossed',
  lagging: 'level',
  invert_segment: 'upright',
  rib: 'upright',
  lattice_girder: 'upright',
};

/** Pieces drawn as points, with the size of their mark. */
const POINTS: Record<string, number> = { bolt: 0.42, spile: 0.34, drain: 0.34 };

const KINDS: Record<string, string> = {
  bolt: 'bolts',
  spile: 'spiles',
  drain: 'drains',
  mesh: 'mesh',
  sprayed_concrete: 'sprayed concrete',
  cast_concrete: 'cast concrete',
  cavity_fill: 'cavity fill',
  lagging: 'lagging',
  invert_segment: 'invert segments',
  rib: 'steel ribs',
  lattice_girder: 'lattice girders',
};

/** Pieces are drawn individually down to this scale; below it their marks would overlap. */
export const SINGLE_DOWN_TO = 500;

/** Narrower areas have no outline, which would hide the hatch. [mm] */
const OUTLINED_MM = 1.2;

/** Gaps narrower than a pen are not drawn. [mm] */
const GAP_MM = 0.15;
/** Pieces not drawn individually, such as ribs at a small scale, are joined to one length up to this gap. [mm] */
const PLACES_GAP_MM = 3;

const RIB = { colour: '#111111', width: 0.4 };
const GIRDER = { colour: '#111111', width: 0.3, dashes: [0.9, 0.4] };

/** Angle from the crown, −180 to 180, clockwise seen in the direction of the drive. */
const signed = (deg: number): number => ((((deg + 180) % 360) + 360) % 360) - 180;

/** The parts of an arc between −180 and 180; without an arc, the full range. */
const arcParts = (from?: number, to?: number): [number, number][] => {
  if (from === undefined || to === undefined) return [[-180, 180]];
  const width = (((to - from) % 360) + 360) % 360;
  if (width === 0) return [[-180, 180]];
  const low = signed(from);
  return low + width <= 180
    ? [[low, low + width]]
    : [
        [low, 180],
        [-180, low + width - 360],
      ];
};

/** Position in a band of a place on the ring: the crown in the middle, seen from above. */
const around =
  (top: number, height: number, direction: number) =>
  (deg: number): number =>
    top + height * (0.5 + (direction * deg) / 360);

interface Area {
  ends: [number, number];
  of: Support;
  count: number;
}

const keyOf = ({ item, arcFrom, arcTo, thickness }: Support): string =>
  [item, arcFrom, arcTo, thickness].join('|');

/** Merges areas of the same item and arc that meet on paper. @param mmM  metres per millimetre on paper */
const joined = (lines: Support[], mmM: number): Area[] => {
  const open = new Map<string, Area>();
  const areas: Area[] = [];
  for (const of of lines.toSorted((one, other) => endsOf(one)[0] - endsOf(other)[0])) {
    const [low, high] = endsOf(of);
    const last = open.get(keyOf(of));
    const gap = low === high ? PLACES_GAP_MM : GAP_MM;
    if (last && low - last.ends[1] <= gap * mmM) {
      last.ends[1] = Math.max(last.ends[1], high);
      last.count += 1;
    } else {
      const area: Area = { ends: [low, high], of, count: 1 };
      open.set(keyOf(of), area);
      areas.push(area);
    }
  }
  return areas;
};

/** Whether the pieces of a line are drawn individually. */
const isSingle = ({ kind, unit, fromM, toM, places }: Support, denominator: number): boolean =>
  unit === 'nr' && kind in POINTS && denominator <= SINGLE_DOWN_TO && (places !== undefined || fromM === toM);

/** Positions of a line's pieces on the ring; evenly over its arc where not recorded. */
const pieceArcs = ({ arcs, arcFrom, arcTo, quantity }: Support): number[] => {
  if (arcs) return arcs;
  const count = Math.min(200, Math.round(Number(quantity)));
  const width =
    arcFrom === undefined || arcTo === undefined ? 360 : (((arcTo - arcFrom) % 360) + 360) % 360 || 360;
  const isRing = width === 360;
  const step = count > 1 ? width / (isRing ? count : count - 1) : 0;
  const first = count > 1 || isRing ? (arcFrom ?? 180) : (arcFrom ?? 0) + width / 2;
  return Array.from({ length: count }, (_, index) => first + index * step);
};

const band = (panel: Panel, drawn: Drawn, zone: string, top: number, height: number): void => {
  const { denominator } = panel.reach;
  const y = around(top, height, drawn.head.direction);
  const lines = drawn.rows.support.filter((line) => line.zone === zone && panel.span(endsOf(line)));
  const ribs = lines.filter(
    ({ kind }) => denominator <= SINGLE_DOWN_TO && (kind === 'rib' || kind === 'lattice_girder'),
  );
  const single = lines.filter((line) => isSingle(line, denominator));
  const rest = lines.filter((line) => !ribs.includes(line) && !single.includes(line));
  const labels: { texts: string[]; span: [number, number]; rows: [number, number] }[] = [];
  for (const { ends, of, count } of joined(rest, denominator / 1000)) {
    const span = panel.span(ends);
    if (!span) continue;
    const wide: [number, number] = span[1] - span[0] < 0.3 ? [span[0] - 0.15, span[0] + 0.15] : span;
    const hatch = AREAS[of.kind] ?? 'bolts';
    const parts = arcParts(of.arcFrom, of.arcTo).map(([from, to]): [number, number] => {
      const rows = [y(from), y(to)];
      return [Math.min(...rows), Math.max(...rows)];
    });
    const pen = wide[1] - wide[0] < OUTLINED_MM ? {} : { pen: THIN };
    for (const rows of parts) panel.rect(wide, rows, { hatch, ...pen });
    const thickness = of.thickness === undefined ? '' : ` ${short(of.thickness)} mm`;
    const amount = count === 1 ? `: ${short(of.quantity)} ${unitInWords(of.unit)}` : '';
    const [largest] = parts.toSorted((one, other) => other[1] - other[0] - (one[1] - one[0]));
    if (largest)
      labels.push({
        texts: [`${of.item}${thickness}${amount}`, `${of.item}${thickness}`, of.item],
        span,
        rows: largest,
      });
    panel.explain(`support ${of.kind}`, KINDS[of.kind] ?? of.kind, areaSample({ hatch }));
  }
  drawRibs(panel, ribs, y, labels);
  drawPoints(panel, single, y, drawn);
  writeLabels(panel, labels);
};

const drawRibs = (
  panel: Panel,
  ribs: Support[],
  y: (deg: number) => number,
  labels: { texts: string[]; span: [number, number]; rows: [number, number] }[],
): void => {
  for (const kind of ['rib', 'lattice_girder']) {
    const pieces: Place[] = [];
    for (const line of ribs.filter((each) => each.kind === kind)) {
      const [low, high] = endsOf(line);
      for (const at of line.places ?? (low === high ? [low] : [])) {
        if (at < panel.reach.lowM || at > panel.reach.highM) continue;
        for (const [from, to] of arcParts(line.arcFrom, line.arcTo))
          pieces.push([panel.x(at), y(from)], [panel.x(at), y(to)]);
      }
      const span = panel.span([low, high]);
      if (line.places === undefined && low !== high && span) {
        const rows: [number, number] = [Math.min(y(-180), y(180)), Math.max(y(-180), y(180))];
        panel.rect(span, rows, { hatch: 'upright', pen: THIN });
        labels.push({
          texts: [`${line.item}: ${short(line.quantity)} ${unitInWords(line.unit)}`, line.item],
          span,
          rows,
        });
        panel.explain('ribs evenly', 'ribs, positions not recorded', areaSample({ hatch: 'upright' }));
      }
    }
    if (pieces.length === 0) continue;
    const pen = kind === 'rib' ? RIB : GIRDER;
    panel.pieces(pieces, pen);
    panel.explain(`support ${kind}`, KINDS[kind] ?? kind, (x, yy) => [
      {
        kind: 'pieces',
        places: [
          [x + 2.5, yy],
          [x + 2.5, yy + 4],
          [x + 5.5, yy],
          [x + 5.5, yy + 4],
        ],
        pen,
      },
    ]);
  }
};

const drawPoints = (panel: Panel, lines: Support[], y: (deg: number) => number, drawn: Drawn): void => {
  for (const [kind, radius] of Object.entries(POINTS)) {
    const places: Place[] = [];
    let isSpread = false;
    for (const line of lines.filter((each) => each.kind === kind)) {
      isSpread ||= line.arcs === undefined;
      if (!panel.span(endsOf(line))) continue;
      const arcs = pieceArcs(line);
      arcs.forEach((deg, index) => {
        const at = line.places?.[index] ?? line.fromM;
        if (panel.has(at, panel.reach.highM >= drawn.highM)) places.push([panel.x(at), y(signed(deg))]);
      });
    }
    if (places.length === 0) continue;
    const look = { radius, fill: kind === 'bolt' ? '#111111' : '#ffffff', pen: THIN };
    panel.marks.push({ kind: 'dots', places, ...look });
    const spread = isSpread ? ', spaced evenly on their arc where positions are not recorded' : '';
    panel.explain(`points ${kind}`, `${KINDS[kind] ?? kind}, one by one${spread}`, (x, yy) => [
      { kind: 'dots', places: [[x + 4, yy + 2]], ...look },
    ]);
  }
};

/** Labels one below the other where areas of several items overlap. */
const writeLabels = (
  panel: Panel,
  labels: { texts: string[]; span: [number, number]; rows: [number, number] }[],
): void => {
  const taken: Rectangle[] = [];
  for (const { texts, span, rows } of labels) {
    const text = texts.find((each) => panel.width(each, 1.7) + 1 <= span[1] - span[0]);
    if (text === undefined) continue;
    const width = panel.width(text, 1.7) + 1;
    const x = (span[0] + span[1]) / 2;
    for (let y = rows[0] + 1.2; y <= rows[1] - 1; y += 2.3) {
      const box = { left: x - width / 2, right: x + width / 2, top: y - 1.05, bottom: y + 1.05 };
      if (taken.some((other) => overlap(box, other))) continue;
      taken.push(box);
      panel.label([text], [box.left - 0.2, box.right + 0.2], [box.top, box.bottom], {
        size: 1.7,
        isOnHatch: true,
        isLevel: true,
      });
      break;
    }
  }
};

export const SUPPORT: Track = {
  name: 'support',
  title: 'Support installed',
  under: 'circumference unrolled, seen from above',
  about:
    'Support installed, one band per zone: the circumference unrolled, seen from above, crown in the middle',
  height: (drawn) => 22 * Math.max(1, zonesOf(drawn).length),
  rows: ['support'],
  views: ['support_row'],
  caution: SUPPORT_CAUTION,
  draw: (panel, drawn) => {
    const zones = zonesOf(drawn);
    const height = panel.height / Math.max(1, zones.length);
    zones.forEach((zone, index) => {
      const top = panel.top + index * height + 0.6;
      const inner = height - 1.2;
      const y = around(top, inner, drawn.head.direction);
      panel.ticks(
        [
          { deg: -180, text: '6 h' },
          { deg: -90, text: '9 h' },
          { deg: 0, text: `${zone}   12 h` },
          { deg: 90, text: '3 h' },
          { deg: 180, text: '6 h' },
        ].map(({ deg, text }) => ({ at: y(deg), text })),
        [top, top + inner],
      );
      if (index > 0)
        panel.pieces([
          [panel.left, top - 0.6],
          [panel.right, top - 0.6],
        ]);
      band(panel, drawn, zone, top, inner);
    });
  },
};
