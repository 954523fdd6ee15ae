import { readShared } from '../../../common/work/shared-text.js';
import { TextWidths } from '../../../common/charts/fonts.js';
import { type Mark, MIDDLE, type Place, type Sheet } from '../../../common/drawing/drawing.js';
import { PdfSheets } from '../../../common/drawing/pdf.js';
import { svgOf } from '../../../common/drawing/svg.js';
import { multiples, roundStep } from '../../../engineering/axis-ticks.js';
import { drawTables } from './draw-tables.js';
import { GREY, type Legend, Panel, type Reach, THIN } from './panel.js';
import { A3, chainageText, FOOT, FRAME, frameOf, legendOf, notesOf, statesOf } from './sheet-frame.js';
import { rowsOf, type StripInput } from './strip-data.js';
import { tablesOf } from './tables.js';
import type { Drawn, Track } from './tracks/track.js';
import { TRACKS } from './tracks/tracks.js';

/** Width of the track headers, and of the strip on a sheet. [mm] */
export const HEADS = 44;
export const STRIP_MM = 340;
const SCALE_BAND = 9;

const HATCH_NOTE =
  'Rock hatches are the service’s own and follow the convention of geological maps: bricks limestone, dots sandstone, crosses plutonic rock, waves schist and gneiss.';

/** Heights are stretched or compressed to fill the sheet, within legible bounds. */
const MOST_STRETCH = 1.7;
const LEAST_STRETCH = 0.55;

interface Layout {
  input: StripInput;
  drawn: Drawn;
  tracks: Track[];
  widths: TextWidths;
}

const layoutOf = (input: StripInput): Layout => {
  const { lowM, highM, head } = input;
  return {
    input,
    drawn: { head, rows: rowsOf(input.texts), lowM, highM },
    tracks: input.tracks.flatMap((name) => TRACKS.filter((track) => track.name === name)),
    widths: new TextWidths(),
  };
};

/** The part of the interval on each sheet. [m] */
export const reaches = ({ lowM, highM, denominator }: StripInput, isLong: boolean): Reach[] => {
  const left = FRAME.left + HEADS;
  const length = isLong ? highM - lowM : (STRIP_MM * denominator) / 1000;
  const count = Math.max(1, Math.ceil((highM - lowM) / length - 1e-9));
  return Array.from({ length: count }, (_, index) => ({
    ...{ denominator, left, lowM: lowM + index * length },
    highM: Math.min(highM, lowM + (index + 1) * length),
  }));
};

/** Chainages with ticks, along the top or the bottom of the strip. */
const chainages = (reach: Reach, y: number, isTop: boolean, widths: TextWidths): Mark[] => {
  const marks: Mark[] = [];
  const x = (at: number): number => reach.left + ((at - reach.lowM) * 1000) / reach.denominator;
  const ticks: Place[] = [];
  const up = isTop ? -1 : 1;
  const step = roundStep(STRIP_MM, 17) * (reach.denominator / 1000);
  for (const at of multiples(reach.lowM, reach.highM, step / 10)) ticks.push([x(at), y], [x(at), y + up * 1]);
  for (const at of multiples(reach.lowM, reach.highM, step)) {
    ticks.push([x(at), y], [x(at), y + up * 2.5]);
    const text = chainageText(at);
    const half = widths.of(text, 2.2) / 2;
    if (x(at) - half >= reach.left - 8 && x(at) + half <= x(reach.highM) + 6)
      marks.push({
        ...{ kind: 'text', text, x: x(at), y: isTop ? y - 3.6 : y + 3.4 + 2.2 * 2 * MIDDLE },
        ...{ size: 2.2, anchor: 'middle' },
      });
  }
  marks.push({ kind: 'pieces', places: ticks, pen: THIN });
  return marks;
};

/** The arrow in the direction of the drive, and the labels at the chainage headers. */
const direction = ({ head }: StripInput, y: number): Mark[] => {
  const x = FRAME.left + 31;
  const ahead = head.direction;
  const tip = x + ahead * 6;
  return [
    { kind: 'text', text: 'Chainage', x: FRAME.left + 2, y: y + 1, size: 2.3, isBold: true },
    {
      kind: 'line',
      places: [
        [x - ahead * 6, y],
        [tip, y],
      ],
      pen: { colour: '#111111', width: 0.4 },
    },
    {
      ...{ kind: 'line', isClosed: true, fill: '#111111' },
      places: [
        [tip, y],
        [tip - ahead * 2, y - 1],
        [tip - ahead * 2, y + 1],
      ],
    },
    { kind: 'text', text: 'drive', x, y: y + 3, size: 1.7, anchor: 'middle', colour: GREY },
  ];
};

const headOf = (panel: Panel, { title, under }: Track, widths: TextWidths): Mark[] => {
  const marks: Mark[] = [];
  const [x, room] = [FRAME.left + 2, HEADS - 14];
  const lines = widths.wrapped(title, room, 2.3);
  const more = under === undefined ? [] : widths.wrapped(under, room, 1.6);
  const most = Math.max(1, Math.floor((panel.height - 0.6) / 2.3));
  [...lines.map((text) => ({ text, isBold: true })), ...more.map((text) => ({ text, isBold: false }))]
    .slice(0, most)
    .forEach(({ text, isBold }, index) => {
      marks.push({
        ...{ kind: 'text', text, x, y: panel.top + 2.4 + index * 2.25, size: isBold ? 2.2 : 1.6, isBold },
        ...(isBold ? {} : { colour: GREY }),
      });
    });
  return [...marks, ...panel.heads];
};

/** The position of the face, and the undriven length beyond it. */
const faceOf = ({ head }: StripInput, reach: Reach, top: number, bottom: number): Mark[] => {
  const { lowM, highM } = reach;
  if (head.faceM <= lowM && head.direction < 0) return [];
  if (head.faceM >= highM && head.direction > 0) return [];
  const middle = (top + bottom) / 2;
  if (head.faceM < lowM || head.faceM > highM) {
    const x = reach.left + ((highM - lowM) * 500) / reach.denominator;
    return [
      { kind: 'rect', x: x - 40, y: middle - 4, width: 80, height: 8, fill: '#ffffff', pen: THIN },
      {
        ...{ kind: 'text', text: `not driven; face ${head.face}`, x, y: middle + MIDDLE * 3 },
        ...{ size: 3, isBold: true, anchor: 'middle' },
      },
    ];
  }
  const x = reach.left + ((head.faceM - lowM) * 1000) / reach.denominator;
  const side = head.direction;
  return [
    {
      kind: 'line',
      places: [
        [x, top],
        [x, bottom],
      ],
      pen: { colour: '#111111', width: 0.7 },
    },
    {
      ...{
        kind: 'text',
        text: `face ${head.face}; not driven`,
        x: x + (side > 0 ? 3 : -1.5),
        y: (top + bottom) / 2,
      },
      ...{ size: 2.4, isBold: true, isUpright: true, anchor: 'middle' },
    },
  ];
};

const stripSheet = (layout: Layout, reach: Reach, page: number, pages: number, width: number): Sheet => {
  const { input, drawn, tracks, widths } = layout;
  const legend: Legend = new Map();
  const [top, bottom] = [FRAME.top + SCALE_BAND, A3.height - FRAME.bottom - FOOT - SCALE_BAND];
  const heights = tracks.map((track) => track.height(drawn));
  const all = heights.reduce((sum, height) => sum + height, 0);
  const stretch = Math.min(MOST_STRETCH, Math.max(LEAST_STRETCH, (bottom - top) / all));
  const marks: Mark[] = [];
  const right = reach.left + ((reach.highM - reach.lowM) * 1000) / reach.denominator;
  let y = top;
  tracks.forEach((track, index) => {
    const height = (heights[index] ?? 0) * stretch;
    const panel = new Panel(reach, y, height, reach.left, widths, legend);
    if (track.rows.every((name) => drawn.rows[name].length === 0))
      panel.text('nothing recorded in the interval', panel.left + 2, y + height / 2, { colour: GREY });
    else track.draw(panel, drawn);
    const lines: Mark = {
      ...{ kind: 'pieces', pen: THIN },
      places: [
        [FRAME.left, y],
        [right, y],
        [FRAME.left, y + height],
        [right, y + height],
      ],
    };
    marks.push({
      kind: 'group',
      name: `head ${track.name}`,
      marks: [...headOf(panel, track, widths), lines],
    });
    marks.push({ kind: 'group', name: `track ${track.name}`, marks: panel.marks });
    y += height;
  });
  const edges: Place[] = [
    [reach.left, top],
    [reach.left, y],
    [right, top],
    [right, y],
  ];
  marks.push({ kind: 'pieces', places: edges, pen: { colour: '#111111', width: 0.35 } });
  marks.push({
    ...{ kind: 'group', name: 'chainages' },
    marks: [
      ...chainages(reach, top, true, widths),
      ...chainages(reach, y, false, widths),
      ...direction(input, top - 5),
    ],
  });
  marks.push(...faceOf(input, reach, top, y));
  const cautions = tracks.flatMap(({ caution }) => caution ?? []);
  const views = tracks.flatMap((track) => track.views);
  const notes = [
    ...new Set([
      ...cautions,
      ...(tracks.some(({ name }) => name === 'lithology') ? [HATCH_NOTE] : []),
      `Drawn from ${[...new Set(views)].map((view) => `report.${view}`).join(', ')}.`,
    ]),
  ];
  const shows = `${chainageText(reach.lowM)} to ${chainageText(reach.highM)}`;
  marks.push(
    ...legendOf(legend, notes, width, widths),
    ...frameOf(input, { width, page, pages, shows, states: statesOf(layout.drawn.rows.shifts) }, widths),
  );
  return {
    ...{ width, height: A3.height, marks },
    title: `As-built record of drive ${input.head.drive}, ${shows}, sheet ${page} of ${pages}`,
  };
};

/** The strip as SVG: as one sheet of any length, or as one numbered sheet. */
export const stripSvg = ({ page, ...input }: StripInput & { page?: number }): string => {
  const layout = layoutOf(input);
  const all = reaches(input, page === undefined);
  const reach = all[(page ?? 1) - 1];
  if (!reach) throw new RangeError(`there is no sheet ${page}`);
  const length = ((reach.highM - reach.lowM) * 1000) / reach.denominator;
  const width =
    page === undefined ? Math.max(A3.width, FRAME.left + HEADS + length + 6 + FRAME.right) : A3.width;
  return svgOf(stripSheet(layout, reach, page ?? 1, all.length, width));
};

/** The strip over as many sheets as it needs, followed by its tables, as PDF. */
export const stripPdf = async (input: StripInput): Promise<Uint8Array> => {
  const layout = layoutOf(input);
  const { widths, drawn } = layout;
  const all = reaches(input, false);
  const facts = {
    title: `As-built record of drive ${input.head.drive}, ${input.from} to ${input.to}`,
    subject: `Project ${input.head.project}, as of ${input.head.asOf}`,
    madeAt: new Date(input.head.changedAt ?? `${input.head.made}T00:00:00Z`),
  };
  const sheets = new PdfSheets(facts, widths);
  await sheets.prepare(JSON.stringify([input.head, input.tracks]));
  for (const parts of Object.values(input.texts))
    for (const part of parts) await sheets.prepare(readShared(part));
  const tables = tablesOf(drawn.rows);
  const states = statesOf(drawn.rows.shifts);
  const notes = notesOf([...new Set(TRACKS.flatMap(({ caution }) => caution ?? []))], widths);
  let pages = all.length;
  drawTables(tables, widths, () => (pages += 1)); // drawn twice rather than kept in memory: the first sheet states the number of pages
  all.forEach((reach, index) => sheets.add(stripSheet(layout, reach, index + 1, pages, A3.width)));
  drawn.rows = rowsOf({}); // releases the rows: what remains to be written is in the tables
  let page = all.length;
  drawTables(tables, widths, (marks) => {
    page += 1;
    const place = { width: A3.width, page, pages, shows: 'tables', states };
    sheets.add({ ...A3, title: '', marks: [...marks, ...notes, ...frameOf(input, place, widths)] });
  });
  return sheets.finished();
};
