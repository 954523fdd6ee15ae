import type { Window } from '../../../common/api/chainage-window.js';
import { svgCut, svgNumber as n, svgText } from '../../../common/svg-text.js';
import { equalArea, greatCircle, type NetPoint } from '../../../engineering/equal-area.js';
import type { DiscontinuitySet } from './discontinuity-set.models.js';
import type { MeasuredSet } from './read-sets.js';
import { type Mark, MARK_DEFINITIONS, markOf, NO_SET } from './stereonet-marks.js';

/** A pole to be drawn. */
export interface NetPole {
  name: string;
  chainage: string;
  dipDeg: number;
  dipDirectionDeg: number;
  set: string | null;
  remark: string | null;
  east: number;
  north: number;
  down: number;
}

export interface Net {
  project: string;
  drive: string;
  window: Pick<Window, 'from' | 'to'>;
  /** The moment shown and the last change of the record, in words. */
  moment: string;
  poles: NetPole[];
  sets: MeasuredSet[];
  /** azimuth of the axis of the drive [°] */
  axisDeg?: number;
}

const WIDTH = 600;
const RADIUS = 220;
const CENTRE = { x: 300, y: 360 };
const LEGEND_TOP = CENTRE.y + RADIUS + 62;
const ROW = 24;
const POLE_SIZE = 4;
const MEAN_SIZE = 7.5;
const RADIANS = Math.PI / 180;
const INK = '#222';
const FAINT = '#C8C8C8';

/** Codes of project and drive and labels of sets are truncated to this length. */
const LABEL_LENGTH = 30;

const at = ([east, north]: NetPoint): { x: number; y: number } => ({
  x: CENTRE.x + RADIUS * east,
  y: CENTRE.y - RADIUS * north,
});

const onRing = (azimuthDeg: number, radius: number): { x: number; y: number } => ({
  x: CENTRE.x + radius * Math.sin(azimuthDeg * RADIANS),
  y: CENTRE.y - radius * Math.cos(azimuthDeg * RADIANS),
});

interface Style {
  size?: number;
  bold?: boolean;
  anchor?: 'start' | 'middle' | 'end';
  fill?: string;
}

const text = (x: number, y: number, escaped: string, { size = 13, bold, anchor, fill }: Style = {}): string =>
  `<text x="${n(x)}" y="${n(y)}" font-size="${size}"${bold ? ' font-weight="bold"' : ''}` +
  `${anchor ? ` text-anchor="${anchor}"` : ''}${fill ? ` fill="${fill}"` : ''}>${escaped}</text>`;

const circle = (radius: number, style: string): string =>
  `<circle cx="${CENTRE.x}" cy="${CENTRE.y}" r="${n(radius)}" fill="none" ${style}/>`;

/** An outline drawn at a position, with constant line width. */
const mark = ({ outline }: Mark, { x, y }: { x: number; y: number }, size: number, inner = ''): string =>
  `<use href="#${outline}" transform="translate(${n(x)} ${n(y)}) scale(${n(size)})"${inner ? `>${inner}</use>` : '/>'}`;

const group = (mark: Mark, inner: string): string =>
  mark === NO_SET
    ? `<g fill="none" stroke="${mark.colour}" stroke-width="0.35">${inner}</g>`
    : `<g fill="${mark.colour}" fill-opacity="0.8" stroke="#fff" stroke-width="0.15">${inner}</g>`;

const azimuth = (deg: number): string => String(Math.round(deg) % 360).padStart(3, '0');
const dip = (deg: number): string => String(Math.round(deg)).padStart(2, '0');
const plane = (dipDeg: number, dipDirectionDeg: number): string =>
  `${dip(dipDeg)}/${azimuth(dipDirectionDeg)}`;

const frame = (): string => {
  const ticks = Array.from({ length: 36 }, (_, step) => {
    const [from, to] = [onRing(step * 10, RADIUS), onRing(step * 10, RADIUS + (step % 9 === 0 ? 9 : 5))];
    return `M${n(from.x)} ${n(from.y)}L${n(to.x)} ${n(to.y)}`;
  });
  // a line that plunges by 30° or 60° lies at √2 · sin((90° − plunge) / 2)
  const rings = [30, 60].map((plunge) =>
    circle(
      RADIUS * Math.SQRT2 * Math.sin(((90 - plunge) / 2) * RADIANS),
      `stroke="${FAINT}" stroke-dasharray="2 3"`,
    ),
  );
  const { x, y } = CENTRE;
  return (
    rings.join('') +
    `<path d="M${x - 6} ${y}H${x + 6}M${x} ${y - 6}V${y + 6}" stroke="#999" fill="none"/>` +
    circle(RADIUS, `stroke="${INK}" stroke-width="1.5"`) +
    `<path d="${ticks.join('')}" stroke="${INK}" fill="none"/>` +
    text(x, y - RADIUS - 16, 'N', { size: 18, bold: true, anchor: 'middle' }) +
    text(x + RADIUS + 14, y + 4, '090°', { size: 12 }) +
    text(x, y + RADIUS + 24, '180°', { size: 12, anchor: 'middle' }) +
    text(x - RADIUS - 14, y + 4, '270°', { size: 12, anchor: 'end' })
  );
};

const AXIS_STYLE = `stroke="${INK}" stroke-width="1.6" stroke-dasharray="9 4 2 4" fill="none"`;

/** A horizontal line through the centre, with an arrow in the direction of the drive. */
const axis = (deg: number): string => {
  const [tail, head] = [onRing(deg + 180, RADIUS), onRing(deg, RADIUS)];
  return (
    `<path d="M${n(tail.x)} ${n(tail.y)}L${n(head.x)} ${n(head.y)}" ${AXIS_STYLE}/>` +
    `<path d="M0 0L5 13H-5Z" fill="${INK}" transform="translate(${n(head.x)} ${n(head.y)}) rotate(${n(deg)})"/>`
  );
};

const polesOf = (poles: NetPole[], sign: Mark): string =>
  group(
    sign,
    poles
      .map(({ name, chainage, dipDeg, dipDirectionDeg, remark, east, north, down }) => {
        const said = `${name} at ${chainage}: ${plane(dipDeg, dipDirectionDeg)}${remark ? `, ${remark}` : ''}`;
        const title = `<title>${svgText(said)}</title>`;
        return mark(sign, at(equalArea([east, north, Math.max(0, down)])), POLE_SIZE, title);
      })
      .join(''),
  );

const meanCircle = (
  { figures: { meanDipDeg, meanDipDirectionDeg } }: MeasuredSet,
  { colour }: Mark,
): string => {
  if (meanDipDeg === undefined || meanDipDirectionDeg === undefined) return '';
  const points = greatCircle({ dipDeg: meanDipDeg, dipDirectionDeg: meanDipDirectionDeg }).map(at);
  const path = points.map(({ x, y }) => `${n(x)} ${n(y)}`).join('L');
  return `<path d="M${path}" stroke="${colour}" stroke-width="2" fill="none"/>`;
};

const meanPole = ({ meanPole: pole }: MeasuredSet, sign: Mark): string => {
  if (!pole) return '';
  const place = at(equalArea([pole[0], pole[1], Math.max(0, pole[2])]));
  return (
    `<g fill="#fff">${mark(sign, place, MEAN_SIZE + 3.5)}</g>` +
    `<g fill="${INK}">${mark(sign, place, MEAN_SIZE + 2)}</g><g fill="${sign.colour}">${mark(sign, place, MEAN_SIZE)}</g>`
  );
};

const setRow = (
  { set, count, meanDipDeg, meanDipDirectionDeg, concentration }: DiscontinuitySet,
  sign: Mark,
  y: number,
): string => {
  const mean =
    meanDipDeg === undefined || meanDipDirectionDeg === undefined
      ? '–'
      : plane(meanDipDeg, meanDipDirectionDeg);
  return (
    group(sign, mark(sign, { x: 36, y: y - 4.5 }, POLE_SIZE + 1.5)) +
    text(54, y, set == null ? 'no set' : svgCut(set, LABEL_LENGTH)) +
    text(330, y, String(count), { anchor: 'end' }) +
    text(470, y, mean, { anchor: 'end' }) +
    text(570, y, concentration === undefined ? '–' : concentration.toFixed(concentration < 100 ? 1 : 0), {
      anchor: 'end',
    })
  );
};

const NOTES = [
  'Poles: equal area, lower hemisphere. Dotted rings: lines that plunge 30° and 60°.',
  'Ringed marks and curves: mean pole and mean plane of a set. K = (N − 1) / (N − R).',
  'Decision support: as mapped, without weighting for the direction of the drive.',
  'The project’s designer and the local code decide.',
];

const SOURCE = 'Drawn from report.discontinuity_row, report.discontinuity_set.';

/**
 * Net of poles in equal-area projection of the lower hemisphere, as SVG: each set in its own colour and mark, with its mean pole,
 * its mean plane as a great circle, and an entry in the legend.
 */
export const stereonet = ({ project, drive, window, moment, poles, sets, axisDeg }: Net): string => {
  const signs = sets.map(({ figures: { set } }, place) => (set == null ? NO_SET : markOf(place)));
  const rows = sets.map(({ figures }, place) =>
    setRow(figures, signs[place], LEGEND_TOP + ROW * (place + 1)),
  );
  const axisY = LEGEND_TOP + ROW * (sets.length + 1);
  const axisRow =
    axisDeg == null
      ? ''
      : `<path d="M20 ${axisY - 4.5}H48" ${AXIS_STYLE}/>` +
        text(54, axisY, `axis of the drive, ${azimuth(axisDeg)}°`);
  const notesTop = axisY + (axisDeg == null ? 6 : ROW + 6);
  const height = notesTop + 18 * NOTES.length;
  const bySet = new Map<string | null, NetPole[]>();
  for (const pole of poles) {
    const standing = bySet.get(pole.set);
    if (standing) standing.push(pole);
    else bySet.set(pole.set, [pole]);
  }
  const count = `${poles.length} ${poles.length === 1 ? 'pole' : 'poles'}`;
  const heading = `Discontinuities, drive ${drive}`; // in smaller type where it is long
  const column = { size: 12, fill: '#555' };
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" height="${height}" role="img" font-family="Arial, Helvetica, 'DejaVu Sans', sans-serif" fill="${INK}">`,
    `<title>${svgText(`${heading}, ${window.from} to ${window.to}`)}</title>`,
    `<defs>${MARK_DEFINITIONS}</defs><rect width="${WIDTH}" height="${height}" fill="#fff"/>`,
    text(20, 34, svgText(heading), { size: Math.min(20, Math.floor(900 / heading.length)), bold: true }),
    text(20, 58, svgText(`${window.from} to ${window.to}`), { size: 15 }),
    text(20, 78, svgText(`As of ${moment}. Project ${project}. ${count}`), { size: 11, fill: '#555' }),
    text(20, 94, SOURCE, { size: 11, fill: '#555' }),
    frame(),
    axisDeg == null ? '' : axis(axisDeg),
    ...sets.map((set, place) => meanCircle(set, signs[place])),
    ...sets.map(({ figures: { set } }, place) => polesOf(bySet.get(set ?? null) ?? [], signs[place])),
    ...sets.map((set, place) => meanPole(set, signs[place])),
    text(54, LEGEND_TOP, 'Set', column),
    text(330, LEGEND_TOP, 'Poles', { ...column, anchor: 'end' }),
    text(470, LEGEND_TOP, 'Mean dip/direction', { ...column, anchor: 'end' }),
    text(570, LEGEND_TOP, 'K', { ...column, anchor: 'end' }),
    ...rows,
    axisRow,
    ...NOTES.map((note, line) => text(20, notesTop + 18 * line, note, { size: 12, fill: '#555' })),
    '</svg>\n',
  ].join('');
};
