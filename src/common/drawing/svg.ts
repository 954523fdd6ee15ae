import { FONT_FAMILIES } from '../charts/fonts.js';
import { svgText } from '../svg-text.js';
import { INK, type Mark, type Pen, type Place, type Sheet } from './drawing.js';
import { type HatchName, hatchOf } from './hatches.js';

/** A length, to a micrometre. */
const mm = (value: number): string => String(Math.round(value * 1000) / 1000 + 0);

const place = ([x, y]: Place): string => `${mm(x)} ${mm(y)}`;

const penOf = (pen: Pen | undefined): string =>
  pen
    ? ` stroke="${pen.colour}" stroke-width="${mm(pen.width)}"${pen.dashes ? ` stroke-dasharray="${pen.dashes.map(mm).join(' ')}"` : ''}`
    : '';

const ring = (x: number, y: number, radius: number): string => {
  const r = mm(radius);
  return `M${mm(x - radius)} ${mm(y)}a${r} ${r} 0 1 0 ${mm(2 * radius)} 0a${r} ${r} 0 1 0 ${mm(-2 * radius)} 0`;
};

const pattern = (name: HatchName): string => {
  const { width, height, lines, dots = [], rings = [], pen } = hatchOf(name);
  const drawn = [
    ...lines.map(([x1, y1, x2, y2]) => `M${mm(x1)} ${mm(y1)}L${mm(x2)} ${mm(y2)}`),
    ...rings.map(([x, y, r]) => ring(x, y, r)),
  ].join('');
  const discs = dots.map(([x, y, r]) => ring(x, y, r)).join('');
  return `<pattern id="hatch-${name}" patternUnits="userSpaceOnUse" width="${mm(width)}" height="${mm(height)}">${
    drawn === '' ? '' : `<path d="${drawn}" fill="none" stroke="${INK}" stroke-width="${mm(pen)}"/>`
  }${discs === '' ? '' : `<path d="${discs}" fill="${INK}"/>`}</pattern>`;
};

const rect = (mark: Extract<Mark, { kind: 'rect' }>): string => {
  const box = `x="${mm(mark.x)}" y="${mm(mark.y)}" width="${mm(mark.width)}" height="${mm(mark.height)}"`;
  if (mark.hatch === undefined) return `<rect ${box} fill="${mark.fill ?? 'none'}"${penOf(mark.pen)}/>`;
  const under = mark.fill === undefined ? '' : `<rect ${box} fill="${mark.fill}"/>`;
  return `${under}<rect ${box} fill="url(#hatch-${mark.hatch})"${penOf(mark.pen)}/>`;
};

const text = (mark: Extract<Mark, { kind: 'text' }>): string => {
  const { x, y, size, anchor, isBold, colour, isUpright } = mark;
  const turned = isUpright ? ` transform="rotate(-90 ${mm(x)} ${mm(y)})"` : '';
  return `<text x="${mm(x)}" y="${mm(y)}" font-size="${mm(size)}"${anchor ? ` text-anchor="${anchor}"` : ''}${
    isBold ? ' font-weight="bold"' : ''
  }${colour ? ` fill="${colour}"` : ''}${turned}>${svgText(mark.text)}</text>`;
};

const markOf = (mark: Mark): string => {
  switch (mark.kind) {
    case 'line': {
      const d = mark.places.map((each, index) => `${index === 0 ? 'M' : 'L'}${place(each)}`).join('');
      return `<path d="${d}${mark.isClosed ? 'Z' : ''}" fill="${mark.fill ?? 'none'}"${penOf(mark.pen)}/>`;
    }
    case 'pieces': {
      const d = mark.places.map((each, index) => `${index % 2 === 0 ? 'M' : 'L'}${place(each)}`).join('');
      return `<path d="${d}" fill="none"${penOf(mark.pen)}/>`;
    }
    case 'rect':
      return rect(mark);
    case 'dots': {
      const d = mark.places.map(([x, y]) => ring(x, y, mark.radius)).join('');
      return `<path d="${d}" fill="${mark.fill}"${penOf(mark.pen)}/>`;
    }
    case 'text':
      return text(mark);
    case 'group':
      return `<g data-name="${svgText(mark.name)}">\n${mark.marks.map(markOf).join('\n')}\n</g>`;
  }
};

const hatchesIn = (marks: readonly Mark[]): HatchName[] =>
  marks.flatMap((mark) =>
    mark.kind === 'group' ? hatchesIn(mark.marks) : mark.kind === 'rect' && mark.hatch ? [mark.hatch] : [],
  );

/** A sheet as SVG at actual size. */
export const svgOf = ({ width, height, title, marks }: Sheet): string => {
  const hatches = [...new Set(hatchesIn(marks))].map(pattern);
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${mm(width)}mm" height="${mm(height)}mm" viewBox="0 0 ${mm(width)} ${mm(height)}" role="img" font-family="${FONT_FAMILIES}" fill="${INK}" stroke-linejoin="round">
<title>${svgText(title)}</title>
<defs>${hatches.join('')}</defs>
<rect width="${mm(width)}" height="${mm(height)}" fill="#ffffff"/>
${marks.map(markOf).join('\n')}
</svg>
`;
};
