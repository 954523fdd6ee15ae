import { svgCut, svgNumber as n, svgText } from '../../../common/svg-text.js';
import { sectionPoint } from '../../../engineering/probe-hole.js';

export interface FanHole {
  name: string;
  collarM: number;
  reachM: number;
  collar: string;
  reach: string;
  /** null: not recorded, so it cannot be drawn */
  positionDeg: number | null;
  azimuthDeg: number | null;
  lookOutDeg: number;
  lengthM: string;
  state: string;
  givesCover: boolean;
}

export interface Fan {
  project: string;
  drive: string;
  /** in the project's local time */
  moment: string;
  radiusM: number;
  face: string;
  faceM: number;
  probedTo: string;
  probedToM: number;
  permittedTo: string | null;
  permittedToM: number | null;
  /** converts driven metres to a chainage */
  chainageAt: (drivenM: number) => string;
  holes: FanHole[];
}

const WIDTH = 900;
const INK = '#222';
const SECTION = { x: 450, y: 300, size: 170 };
const PLAN = { left: 80, right: 840, y: 690, size: 110 };
const LEGEND_TOP = 870;
const ROW = 20;
const MOST_ROWS = 60;

interface Style {
  size?: number;
  bold?: boolean;
  anchor?: 'middle' | 'end';
}

const text = (x: number, y: number, escaped: string, { size = 12, bold, anchor }: Style = {}): string =>
  `<text x="${n(x)}" y="${n(y)}" font-size="${size}"${bold ? ' font-weight="bold"' : ''}${anchor ? ` text-anchor="${anchor}"` : ''}>${escaped}</text>`;

const line = (x1: number, y1: number, x2: number, y2: number, style = ''): string =>
  `<path d="M${n(x1)} ${n(y1)}L${n(x2)} ${n(y2)}" fill="none" stroke="${INK}"${style}/>`;

const DASHED = ' stroke-dasharray="5 4"';

/** A step of 1, 2 or 5 times a power of ten that divides a length into at most this many parts. [m] */
const stepOf = (lengthM: number, most: number): number => {
  const power = 10 ** Math.floor(Math.log10(lengthM / most));
  return [1, 2, 5, 10].map((each) => each * power).find((step) => lengthM / step <= most) ?? lengthM;
};

interface Drawn extends FanHole {
  number: number;
  from: { rightM: number; upM: number };
  to: { rightM: number; upM: number };
}

const drawnOf = (holes: FanHole[], radiusM: number): Drawn[] =>
  holes.flatMap((hole, index) => {
    const { positionDeg, azimuthDeg, lookOutDeg, collarM, reachM } = hole;
    if (positionDeg == null) return [];
    const direction = { positionDeg, lookOutDeg, azimuthDeg: azimuthDeg ?? undefined };
    const at = (aheadM: number) => sectionPoint(radiusM, direction, aheadM);
    return [{ ...hole, number: index + 1, from: at(0), to: at(reachM - collarM) }];
  });

/** The mark of a hole: a solid line where it gives cover; a dot at the collar, a ring at the end, and its number beside it. */
const holeMark = (hole: Drawn, from: [number, number], to: [number, number]): string =>
  `<g><title>${svgText(`${hole.name}: ${hole.collar} to ${hole.reach}, ${hole.state}`)}</title>` +
  line(...from, ...to, ` stroke-width="1.5"${hole.givesCover ? '' : DASHED}`) +
  `<circle cx="${n(from[0])}" cy="${n(from[1])}" r="2.5" fill="${INK}"/>` +
  `<circle cx="${n(to[0])}" cy="${n(to[1])}" r="3.5" fill="#fff" stroke="${INK}"/>` +
  `${text(to[0] + 6, to[1] - 5, String(hole.number), { size: 11 })}</g>`;

const section = (holes: Drawn[], radiusM: number): string => {
  const furthest = Math.max(radiusM, ...holes.map(({ to }) => Math.hypot(to.rightM, to.upM)));
  const scale = SECTION.size / furthest;
  const at = ({ rightM, upM }: Drawn['to']): [number, number] => [
    SECTION.x + rightM * scale,
    SECTION.y - upM * scale,
  ];
  const barM = stepOf(furthest, 4);
  const [x, y] = [SECTION.x + SECTION.size + 40, SECTION.y + SECTION.size - 10];
  return [
    text(20, 118, 'Section, seen in the direction of the drive [m]', { size: 14, bold: true }),
    `<circle cx="${SECTION.x}" cy="${SECTION.y}" r="${n(radiusM * scale)}" fill="none" stroke="${INK}" stroke-width="2"/>`,
    line(SECTION.x - 6, SECTION.y, SECTION.x + 6, SECTION.y),
    line(SECTION.x, SECTION.y - 6, SECTION.x, SECTION.y + 6),
    ...holes.map((hole) => holeMark(hole, at(hole.from), at(hole.to))),
    line(x, y, x + barM * scale, y, ' stroke-width="3"'),
    text(x, y - 8, `${n(barM)} m`),
    text(SECTION.x, SECTION.y - SECTION.size - 14, '0° crown', { size: 11, anchor: 'middle' }),
  ].join('');
};

const plan = (fan: Fan, holes: Drawn[]): string => {
  const marks = [fan.faceM, fan.probedToM, ...(fan.permittedToM == null ? [] : [fan.permittedToM])];
  const lowM = Math.min(...marks, ...fan.holes.map(({ collarM }) => collarM)) - 2;
  const highM = Math.max(...marks, ...fan.holes.map(({ reachM }) => reachM)) + 2;
  const x = (drivenM: number): number =>
    PLAN.left + ((drivenM - lowM) / (highM - lowM)) * (PLAN.right - PLAN.left);
  const widest = Math.max(fan.radiusM, ...holes.map(({ to }) => Math.abs(to.rightM)));
  const y = (rightM: number): number => PLAN.y + (rightM / widest) * PLAN.size;
  const step = stepOf(highM - lowM, 8);
  const ticks = Array.from(
    { length: Math.floor(highM / step) - Math.ceil(lowM / step) + 1 },
    (_, index) => (Math.ceil(lowM / step) + index) * step,
  );
  const bottom = PLAN.y + PLAN.size + 14;
  const offsets = stepOf(widest, 2);
  const upright = (drivenM: number, label: string, row: number, style: string): string => {
    const [at, top] = [x(drivenM), PLAN.y - PLAN.size - 36 + row * 14];
    const isNearEdge = at > PLAN.right - 120; // its label goes to the left, to stay within the drawing
    return (
      line(at, top, at, bottom, style) +
      text(at + (isNearEdge ? -3 : 3), top - 2, label, { size: 11, anchor: isNearEdge ? 'end' : undefined })
    );
  };
  return [
    text(20, 524, 'Plan, driven to the right; distance to the right of the axis downward [m]', {
      size: 14,
      bold: true,
    }),
    ...[-1, 1].map((side) =>
      line(x(lowM), y(side * fan.radiusM), x(highM), y(side * fan.radiusM), ' stroke-width="2"'),
    ),
    line(x(lowM), y(0), x(highM), y(0), ' stroke-dasharray="9 4 2 4"'),
    line(PLAN.left, bottom, PLAN.right, bottom),
    ...ticks.flatMap((drivenM) => [
      line(x(drivenM), bottom, x(drivenM), bottom + 5),
      text(x(drivenM), bottom + 18, svgText(fan.chainageAt(drivenM)), { size: 11, anchor: 'middle' }),
    ]),
    ...[-offsets, 0, offsets].flatMap((rightM) => [
      line(PLAN.left - 5, y(rightM), PLAN.left, y(rightM)),
      text(PLAN.left - 8, y(rightM) + 4, n(rightM), { size: 11, anchor: 'end' }),
    ]),
    text(PLAN.right, bottom + 34, 'chainage [km + m]', { size: 11, anchor: 'end' }),
    ...holes.map((hole) =>
      holeMark(hole, [x(hole.collarM), y(hole.from.rightM)], [x(hole.reachM), y(hole.to.rightM)]),
    ),
    upright(fan.faceM, `face ${fan.face}`, 0, ' stroke-width="3"'),
    ...(fan.permittedToM == null
      ? []
      : [upright(fan.permittedToM, `may go to ${fan.permittedTo}`, 1, ' stroke-dasharray="2 3"')]),
    upright(fan.probedToM, `covered to ${fan.probedTo}`, 2, DASHED),
  ].join('');
};

const NOTES = [
  'Dot: collar. Ring: end. Dashed: gives no cover. Holes are drawn straight, their collars on the bored section.',
  'Decision support: the drawing says nothing of what the holes found. It decides nothing;',
  'the project’s designer, its hold points and the local code decide whether the face may go on.',
];

const legend = (holes: FanHole[]): string[] =>
  holes
    .slice(0, MOST_ROWS)
    .map(({ name, collar, reach, positionDeg, lookOutDeg, lengthM, state, givesCover }, index) => {
      const y = LEGEND_TOP + ROW * (index + 1);
      const position = positionDeg == null ? 'not noted: not drawn' : `${n(positionDeg)}°`;
      return [
        text(40, y, String(index + 1), { anchor: 'end' }),
        text(55, y, svgCut(name, 24)),
        text(235, y, `${svgText(collar)} to ${svgText(reach)}`),
        text(420, y, position),
        text(550, y, `${n(lookOutDeg)}°`),
        text(620, y, `${svgText(lengthM)} m`),
        text(710, y, svgText(state.replace('_', ' '))),
        text(810, y, givesCover ? 'cover' : 'no cover'),
      ].join('');
    });

/** The holes that reach ahead of the face, in section and in plan, as SVG; black on white. */
export const probeFan = (fan: Fan): string => {
  const drawn = drawnOf(fan.holes, fan.radiusM);
  const rows = legend(fan.holes);
  const notesTop = LEGEND_TOP + ROW * (rows.length + 2);
  const height = notesTop + 18 * NOTES.length + 10;
  const heading = `Probe holes ahead of the face, drive ${fan.drive}`;
  const head = ['no.', 'hole', 'collar to reach', 'position', 'look-out', 'length', 'state', ''];
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${height}" width="${WIDTH}" height="${height}" role="img" font-family="Arial, Helvetica, 'DejaVu Sans', sans-serif" fill="${INK}">`,
    `<title>${svgText(`${heading}, face ${fan.face}, ${fan.moment}`)}</title>`,
    `<rect width="${WIDTH}" height="${height}" fill="#fff"/>`,
    text(20, 34, svgText(heading), { size: Math.min(20, Math.floor(1300 / heading.length)), bold: true }),
    text(
      20,
      58,
      svgText(
        `Face ${fan.face}, covered to ${fan.probedTo}${fan.permittedTo == null ? '; how far it may go is not known' : `, may go to ${fan.permittedTo}`}`,
      ),
      { size: 14 },
    ),
    text(
      20,
      80,
      svgText(
        `As of ${fan.moment}. Project ${fan.project}. ${fan.holes.length} ${fan.holes.length === 1 ? 'hole' : 'holes'}`,
      ),
      {
        size: 13,
      },
    ),
    text(20, 97, 'Drawn from report.probe_cover, report.probe_hole_reading, report.drive_progress.', {
      size: 13,
    }),
    section(drawn, fan.radiusM),
    plan(fan, drawn),
    ...head.map((word, at) =>
      text([20, 55, 235, 420, 550, 620, 710, 810][at] ?? 0, LEGEND_TOP, word, { bold: true }),
    ),
    ...rows,
    ...(fan.holes.length > MOST_ROWS
      ? [text(55, notesTop - ROW, `and ${fan.holes.length - MOST_ROWS} more`)]
      : []),
    ...NOTES.map((note, row) => text(20, notesTop + 18 * row, note)),
    '</svg>\n',
  ].join('');
};
