import type { TextWidths } from '../../../common/charts/fonts.js';
import { type Mark, MIDDLE, type Place } from '../../../common/drawing/drawing.js';
import { formatChainage } from '../../../engineering/chainage.js';
import { GREY, type Legend, THIN } from './panel.js';
import type { StripInput, StripRows } from './strip-data.js';

/** A3 landscape, with a binding margin on the left. [mm] */
export const A3 = { width: 420, height: 297 };
export const FRAME = { left: 20, top: 10, right: 10, bottom: 10 };
/** Height of the area below the strip, for legend and title block. */
export const FOOT = 53;
const TITLE_WIDTH = 132;

const HEAVY = { colour: '#111111', width: 0.5 };

export interface SheetPlace {
  width: number;
  page: number;
  pages: number;
  /** The interval, or the contents of the sheet. */
  shows: string;
  /** Number of shifts in the interval by state. */
  states: string;
}

const writer =
  (marks: Mark[]) =>
  (
    text: string,
    x: number,
    y: number,
    size: number,
    look: { isBold?: boolean; colour?: string } = {},
  ): void => {
    marks.push({ kind: 'text', text, x, y, size, ...look });
  };

/** The frame of a sheet, and the title block in its corner. */
export const frameOf = (
  { head, from, to, denominator }: StripInput,
  { width, page, pages, shows, states }: SheetPlace,
  widths: TextWidths,
): Mark[] => {
  const [right, bottom] = [width - FRAME.right, A3.height - FRAME.bottom];
  const [left, top] = [right - TITLE_WIDTH, bottom - FOOT];
  const marks: Mark[] = [
    {
      ...{ kind: 'rect', x: FRAME.left, y: FRAME.top, pen: HEAVY },
      ...{ width: right - FRAME.left, height: bottom - FRAME.top },
    },
    { kind: 'rect', x: left, y: top, width: TITLE_WIDTH, height: FOOT, pen: HEAVY },
  ];
  const write = writer(marks);
  const cut = (text: string, room: number, size: number, isBold = false): string =>
    widths.cut(text, room, size, isBold ? 'bold' : 'normal');
  const lines: Place[] = [];
  const rule = (y: number): void => void lines.push([left, y], [right, y]);
  write(cut(head.projectName, TITLE_WIDTH - 6, 3.4, true), left + 3, top + 5.2, 3.4, { isBold: true });
  write(
    cut(`As-built record of drive ${head.drive}, project ${head.project}`, TITLE_WIDTH - 6, 2.8),
    left + 3,
    top + 9.8,
    2.8,
  );
  rule(top + 12);
  const field = (name: string, value: string, x: number, y: number, room: number, size = 2.4): void => {
    write(name, x, y, 1.7, { colour: GREY });
    write(cut(value, room, size), x, y + 3.2, size);
  };
  field('Interval', `${from} to ${to}`, left + 3, top + 14.6, 60);
  field('This sheet', shows, left + 68, top + 14.6, 61);
  rule(top + 19.5);
  field('Scale along the axis', `1:${denominator} (A3)`, left + 3, top + 22.1, 36);
  field('Bored diameter', `${head.boredDiameterM} m`, left + 41, top + 22.1, 24);
  field('Face', head.face, left + 68, top + 22.1, 30);
  field('Sheet', `${page} of ${pages}`, left + 102, top + 22.1, 28);
  rule(top + 27);
  field('Record as of', head.asOf, left + 3, top + 29.6, 46);
  field('Issue: last change', head.lastChange, left + 51, top + 29.6, 36);
  field('Issued', `${head.made} by ${head.madeBy}`, left + 89, top + 29.6, 42);
  rule(top + 34.5);
  field('State of the shifts', states, left + 3, top + 37.1, 46, 1.7);
  field('Digest of the record: hash of the last change', head.hash ?? 'none', left + 51, top + 37.1, 80, 1.8);
  rule(top + 42);
  lines.push([left + 66, top + 42], [left + 66, bottom]);
  write('Checked (name, date, signature)', left + 3, top + 44.5, 1.7, { colour: GREY });
  write('Approved (name, date, signature)', left + 68, top + 44.5, 1.7, { colour: GREY });
  marks.push({ kind: 'pieces', places: lines, pen: THIN });
  return [{ kind: 'group', name: 'title block', marks }];
};

/** Such as "3 countersigned, 1 draft". */
export const statesOf = (shifts: StripRows['shifts']): string => {
  const counts = new Map<string, number>();
  for (const { state } of shifts) counts.set(state, (counts.get(state) ?? 0) + 1);
  return (
    [...counts].map(([state, count]) => `${count} ${state.replaceAll('_', ' ')}`).join(', ') || 'no shifts'
  );
};

const ROW = 5.2;
const ENTRY = 11;

/** Cautions on a sheet without a legend, beside the title block. */
export const notesOf = (notes: string[], widths: TextWidths): Mark[] =>
  legendOf(new Map(), notes, A3.width, widths);

/** The legend of the sheet and its cautions, in columns from the left, beside the title block. */
export const legendOf = (legend: Legend, notes: string[], width: number, widths: TextWidths): Mark[] => {
  const marks: Mark[] = [];
  const write = writer(marks);
  const [left, right] = [FRAME.left + 3, width - FRAME.right - TITLE_WIDTH - 3];
  const [top, bottom] = [A3.height - FRAME.bottom - FOOT, A3.height - FRAME.bottom];
  marks.push({
    kind: 'pieces',
    places: [
      [FRAME.left, top],
      [right + 3, top],
    ],
    pen: HEAVY,
  });
  const lines = notes.flatMap((note) => widths.wrapped(note, right - left, 1.7));
  const notesTop = bottom - 1.2 - lines.length * 2.2;
  lines.forEach((line, index) => write(line, left, notesTop + 2 + index * 2.2, 1.7));
  const rows = Math.max(1, Math.floor((notesTop - top - 1.5) / ROW));
  const entries = [...legend.values()];
  const columns = Math.max(1, Math.ceil(entries.length / rows));
  const room = Math.min(60, (right - left) / columns);
  const size = room < 36 ? 1.5 : 1.8;
  entries.forEach(({ text, sample }, index) => {
    const x = left + Math.floor(index / rows) * room;
    const y = top + 1.5 + (index % rows) * ROW;
    marks.push(...sample(x, y));
    const [first = '', second] = widths.wrapped(text, room - ENTRY - 2, size);
    const middle = y + 2 + MIDDLE * size;
    if (second === undefined) write(first, x + ENTRY - 1.5, middle, size);
    else {
      write(first, x + ENTRY - 1.5, middle - 0.6 * size, size);
      const all = widths
        .wrapped(text, room - ENTRY - 2, size)
        .slice(1)
        .join(' ');
      write(widths.cut(all, room - ENTRY - 2, size), x + ENTRY - 1.5, middle + 0.6 * size, size);
    }
  });
  return [{ kind: 'group', name: 'legend', marks }];
};

export const chainageText = (metres: number): string => {
  const text = formatChainage(Math.round(metres * 1000));
  return text.replace(/\.000$/, '');
};
