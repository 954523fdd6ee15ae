import { SaxesParser } from 'saxes';
import { xmlFault } from '../../ground/discontinuities/xml.js';

// The contents of a drawing, read from its SVG alone.

export interface DrawnText {
  text: string;
  x: number;
  y: number;
  size: number;
}

export interface DrawnPath {
  points: [x: number, y: number][];
  /** The same, path by path. */
  parts: [x: number, y: number][][];
  stroke?: string;
  fill?: string;
  dashes?: string;
  x: number;
}

export interface Drawn {
  width: number;
  height: number;
  texts: DrawnText[];
  paths: DrawnPath[];
}

const numbersOf = (text: string): number[] => (text.match(/-?\d+(?:\.\d+)?(?:e-?\d+)?/g) ?? []).map(Number);

const partsOf = (d: string): [number, number][][] =>
  d
    .split('M')
    .slice(1)
    .map((part) => {
      const values = numbersOf(part);
      return Array.from({ length: Math.floor(values.length / 2) }, (_, at) => [
        values[2 * at] ?? NaN,
        values[2 * at + 1] ?? NaN,
      ]);
    });

/** @throws Error when it is not well-formed XML */
export const readDrawing = (svg: string): Drawn => {
  const fault = xmlFault(svg);
  if (fault) throw new Error(fault);
  const drawn: Drawn = { width: 0, height: 0, texts: [], paths: [] };
  let isText = false;
  const parser = new SaxesParser();
  parser.on('opentag', ({ name, attributes: found }) => {
    const of = found as Record<string, string>;
    if (name === 'svg') [drawn.width, drawn.height] = [Number(of.width), Number(of.height)];
    isText = name === 'text';
    const [x = 0, y = 0] = numbersOf(/translate\(([^)]*)\)/.exec(of.transform ?? '')?.[1] ?? '');
    if (isText) {
      const size = Number(/font-size:([\d.]+)px/.exec(of.style ?? '')?.[1]);
      const anchor = of['text-anchor'];
      drawn.texts.push({ text: '', x: anchor === 'end' ? x : x, y, size });
    }
    if (name === 'path') {
      const parts = partsOf(of.d ?? '');
      drawn.paths.push({
        points: parts.flat(),
        parts,
        stroke: of.stroke,
        fill: of.fill,
        dashes: of['stroke-dasharray'],
        x,
      });
    }
  });
  parser.on('text', (text) => {
    const last = drawn.texts.at(-1);
    if (isText && last) last.text += text;
  });
  parser.on('closetag', () => {
    isText = false;
  });
  parser.write(svg).close();
  return drawn;
};

export const wordsOf = ({ texts }: Drawn): string => texts.map(({ text }) => text).join('\n');

/** The sample in the legend: horizontal, 28 wide. */
const isSample = ({ points: [first, , last] }: DrawnPath): boolean =>
  first !== undefined &&
  last !== undefined &&
  first[1] === last[1] &&
  Math.abs(last[0] - first[0] - 28) < 0.01;

/** The line of a colour in the panels. */
export const lineOf = ({ paths }: Drawn, stroke: string): DrawnPath => {
  const [found] = paths.filter((path) => path.stroke === stroke && path.fill === 'none' && !isSample(path));
  if (!found) throw new Error(`no line of ${stroke}`);
  return found;
};

/** The boxes of a colour, without that in the legend: their corners. */
export const boxesOf = (
  { paths }: Drawn,
  fill: string,
): { left: number; right: number; top: number; bottom: number }[] =>
  paths
    .filter((path) => path.fill === fill && path.stroke === '#222222')
    .flatMap(({ parts }) => parts)
    .filter((part) => part.length === 4)
    .map((part) => ({
      left: Math.min(...part.map(([x]) => x)),
      right: Math.max(...part.map(([x]) => x)),
      top: Math.min(...part.map(([, y]) => y)),
      bottom: Math.max(...part.map(([, y]) => y)),
    }))
    .filter(
      ({ left, right, top, bottom }) =>
        !(Math.abs(right - left - 26) < 0.01 && Math.abs(bottom - top - 12) < 0.01),
    );

/** Values of an axis from its tick labels: a straight line through the first and the last that a rule can read. */
const scale = (ticks: { at: number; value: number }[]): ((at: number) => number) => {
  const [first, last] = [ticks[0], ticks.at(-1)];
  if (!first || !last || first === last) throw new Error('an axis with fewer than two ticks');
  return (at) => first.value + ((at - first.at) * (last.value - first.value)) / (last.at - first.at);
};

const CHAINAGE = /^-?(\d+)\+(\d{3})(?:\.(\d+))?$/;
export const chainage = (text: string): number | undefined => {
  const found = CHAINAGE.exec(text);
  return found ? Number(found[1]) * 1000 + Number(`${found[2]}.${found[3] ?? 0}`) : undefined;
};
export const date = (text: string): number | undefined =>
  /^\d{4}-\d\d-\d\d$/.test(text) ? Date.parse(text) : undefined;
export const number = (text: string): number | undefined =>
  /^-?\d+(\.\d+)?$/.test(text) ? Number(text) : undefined;

const TICK_SIZE = 11;

/** The x axis: from the ticks in a row, the lowest or the highest such row. */
export const across = (
  { texts }: Drawn,
  read: (text: string) => number | undefined,
  isOnTop = false,
): ((x: number) => number) => {
  const rows = new Map<number, { at: number; value: number }[]>();
  for (const { text, x, y, size } of texts) {
    const value = size === TICK_SIZE ? read(text) : undefined;
    if (value !== undefined) rows.set(Math.round(y), [...(rows.get(Math.round(y)) ?? []), { at: x, value }]);
  }
  const places = [...rows.entries()]
    .filter(([, ticks]) => ticks.length > 1)
    .toSorted(([one], [other]) => one - other);
  return scale((isOnTop ? places[0] : places.at(-1))?.[1] ?? []);
};

/** The y axis of the panel with this label: the ticks in its column, down to the next label. */
export const upward = (
  { texts }: Drawn,
  read: (text: string) => number | undefined,
  from = 0,
  to = Infinity,
): ((y: number) => number) => {
  const columns = new Map<number, { at: number; value: number }[]>();
  for (const { text, x, y, size } of texts) {
    const value = size === TICK_SIZE && y > from && y < to ? read(text) : undefined;
    if (value !== undefined)
      columns.set(Math.round(x), [...(columns.get(Math.round(x)) ?? []), { at: y, value }]);
  }
  const [longest] = [...columns.values()].toSorted((one, other) => other.length - one.length);
  return scale(longest ?? []);
};

/** The vertical position of a text. */
export const placeOf = ({ texts }: Drawn, text: string): number => {
  const found = texts.find((each) => each.text === text);
  if (!found) throw new Error(`no text "${text}"`);
  return found.y;
};
