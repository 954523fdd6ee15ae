import { SaxesParser } from 'saxes';
import { xmlFault } from '../../ground/discontinuities/xml.js';

// The contents of a strip, read from its SVG alone. Lengths are in millimetres.

export interface Box {
  left: number;
  right: number;
  top: number;
  bottom: number;
  fill: string;
}

export interface Text {
  text: string;
  x: number;
  y: number;
  size: number;
  anchor?: string;
}

export interface Path {
  parts: [x: number, y: number][][];
  width: number;
}

export interface Group {
  boxes: Box[];
  texts: Text[];
  paths: Path[];
}

export interface Strip {
  width: number;
  height: number;
  title: string;
  groups: Map<string, Group>;
  texts: Text[];
  hatches: Map<string, string>;
}

const partsOf = (d: string): Path['parts'] =>
  d
    .split('M')
    .slice(1)
    .map((part) => {
      const values = (part.match(/-?\d+(?:\.\d+)?/g) ?? []).map(Number);
      return Array.from({ length: Math.floor(values.length / 2) }, (_, at): [number, number] => [
        values[2 * at] ?? NaN,
        values[2 * at + 1] ?? NaN,
      ]);
    });

/** @throws Error when it is not well-formed XML */
export const readStrip = (svg: string): Strip => {
  const fault = xmlFault(svg);
  if (fault) throw new Error(fault);
  const strip: Strip = { width: 0, height: 0, title: '', groups: new Map(), texts: [], hatches: new Map() };
  let group: Group = { boxes: [], texts: [], paths: [] };
  let [inside, pattern] = ['', ''];
  const parser = new SaxesParser();
  parser.on('opentag', ({ name, attributes }) => {
    const of = attributes as Record<string, string>;
    const number = (key: string): number => Number(of[key] ?? NaN);
    inside = name;
    if (name === 'svg')
      [strip.width, strip.height] = (of.viewBox ?? '').split(' ').slice(2).map(Number) as [number, number];
    if (name === 'pattern') pattern = of.id ?? '';
    if (name === 'g') {
      group = { boxes: [], texts: [], paths: [] };
      strip.groups.set(of['data-name'] ?? '', group);
    }
    if (name === 'rect')
      group.boxes.push({
        ...{ left: number('x'), right: number('x') + number('width') },
        ...{ top: number('y'), bottom: number('y') + number('height'), fill: of.fill ?? '' },
      });
    if (name === 'path' && pattern !== '')
      strip.hatches.set(pattern, (strip.hatches.get(pattern) ?? '') + (of.d ?? ''));
    else if (name === 'path') group.paths.push({ parts: partsOf(of.d ?? ''), width: number('stroke-width') });
    if (name === 'text') {
      const text = {
        text: '',
        x: number('x'),
        y: number('y'),
        size: number('font-size'),
        anchor: of['text-anchor'],
      };
      group.texts.push(text);
      strip.texts.push(text);
    }
  });
  parser.on('text', (text) => {
    if (inside === 'title') strip.title += text;
    const last = strip.texts.at(-1);
    if (inside === 'text' && last) last.text += text;
  });
  parser.on('closetag', ({ name }) => {
    inside = '';
    if (name === 'pattern') pattern = '';
    if (name === 'g') group = { boxes: [], texts: [], paths: [] };
  });
  parser.write(svg).close();
  return strip;
};

export const groupOf = ({ groups }: Strip, name: string): Group => {
  const found = groups.get(name);
  if (!found) throw new Error(`no group ${name}; there are ${[...groups.keys()].join(', ')}`);
  return found;
};

export const wordsOf = (strip: Strip | Group): string => strip.texts.map(({ text }) => text).join('\n');

/** Straight line through two known points. */
const through =
  ([x1, v1]: [number, number], [x2, v2]: [number, number]): ((x: number) => number) =>
  (x) =>
    v1 + ((x - x1) * (v2 - v1)) / (x2 - x1);

const metres = (chainage: string): number => {
  const [, km = '', m = ''] = /^(\d+)\+(\d{3}(?:\.\d+)?)$/.exec(chainage) ?? [];
  return Number(km) * 1000 + Number(m);
};

/** The chainage of a position, from the chainages written along the strip. */
export const ruler = (strip: Strip): { at: (x: number) => number; mmPerM: number } => {
  const written = groupOf(strip, 'chainages').texts.filter(({ text }) => /^\d+\+\d/.test(text));
  const top = written.filter(({ y }) => y === Math.min(...written.map((each) => each.y)));
  const [first, last] = [top[0], top.at(-1)];
  if (!first || !last || first === last) throw new Error('fewer than two chainages are written');
  const [from, to] = [metres(first.text), metres(last.text)];
  return {
    at: through([first.x, from], [last.x, to]),
    mmPerM: (last.x - first.x) / (to - from),
  };
};

/** The value at a height in a track, from the labels at its header. */
export const axisOf = (strip: Strip, track: string): ((y: number) => number) => {
  const ticks = groupOf(strip, `head ${track}`)
    .texts.filter(({ text, anchor }) => anchor === 'end' && /^-?\d+(\.\d+)?$/.test(text))
    .map(({ text, y, size }): [number, number] => [y - 0.36 * size, Number(text)]);
  const lines = groupOf(strip, `track ${track}`).paths.find(({ width }) => width === 0.1);
  const levels = [...new Set(lines?.parts.map(([[, y] = [0, 0]]) => y))].toSorted((a, b) => b - a);
  const values = ticks.map(([, value]) => value).toSorted((a, b) => a - b);
  const [low, high] = [levels[0], levels.at(-1)];
  if (low === undefined || high === undefined || values.length < 2) throw new Error(`no axis of ${track}`);
  return through([low, values[0] ?? NaN], [high, values.at(-1) ?? NaN]);
};
