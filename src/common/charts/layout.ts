import type { Axis, Chart, Panel, Series, Size } from './chart.js';
import type { TextWidths } from './fonts.js';
import { type Tick, ticksOf } from './ticks.js';

export const TITLE_SIZE = 18;
export const ABOUT_SIZE = 12;
export const LABEL_SIZE = 11;
const EDGE = 20;
const LEAST_PANEL = 40;
const SWATCH = 34;
const LEGEND_ROW = 20;
const LEGEND_GAP = 18;

export interface WrittenLine {
  text: string;
  x: number;
  y: number;
  size: number;
  isBold?: boolean;
  isGrey?: boolean;
  /** With a white outline, to be legible on lines and hatches. */
  isHaloed?: boolean;
  anchor?: 'left' | 'center' | 'right';
}

export interface LegendEntry {
  series: Exclude<Series, { kind: 'words' }>;
  name: string;
  x: number;
  y: number;
}

/** Where a panel is drawn. [px] */
export interface PlacedPanel {
  panel: Panel;
  left: number;
  top: number;
  width: number;
  height: number;
  ticks: { x: Tick[]; y: Tick[]; top: Tick[] };
}

export interface Layout {
  lines: WrittenLine[];
  legend: LegendEntry[];
  panels: PlacedPanel[];
}

/** Whether a series has anything visible. */
const isSeen = (series: Series): boolean =>
  series.kind === 'boxes' ? series.boxes.length > 0 : series.points.some(([, y]) => y !== null);

const entriesOf = (panels: Panel[]): LegendEntry['series'][] => {
  const entries = new Map<string, LegendEntry['series']>();
  for (const series of panels.flatMap((panel) => panel.series))
    if (series.kind !== 'words' && !entries.has(series.name)) entries.set(series.name, series);
  return [...entries.values()];
};

const legendOf = (panels: Panel[], widths: TextWidths, width: number, top: number): LegendEntry[] => {
  let [x, y] = [EDGE, top + LEGEND_ROW / 2];
  return entriesOf(panels).map((series) => {
    const name = widths.cut(series.name, width - 2 * EDGE - SWATCH, LABEL_SIZE);
    const needed = SWATCH + widths.of(name, LABEL_SIZE);
    if (x > EDGE && x + needed > width - EDGE) [x, y] = [EDGE, y + LEGEND_ROW];
    const entry = { series, name, x, y };
    x += needed + LEGEND_GAP;
    return entry;
  });
};

/** Lane names are truncated at this share of the width. */
const LANES_SHARE = 0.34;

const widestLabel = (panels: Panel[], widths: TextWidths, width: number, share: number): number =>
  Math.max(
    ...panels.map(({ y }) => {
      const ticks = y.kind === 'lanes' ? ticksOf(y, 1) : ticksOf(y, 8);
      const widest = Math.max(0, ...ticks.map(({ label }) => widths.of(label, LABEL_SIZE)));
      return Math.min(widest, width * share);
    }),
  );

/** As many ticks as fit, by the width of their labels. */
const acrossTicks = (axis: Axis, width: number, widths: TextWidths): Tick[] => {
  const label = axis.kind === 'chainage' ? '000+000' : axis.kind === 'time' ? '0000-00-00' : '0000.0';
  const most = Math.floor(width / (widths.of(label, LABEL_SIZE) + 24));
  return ticksOf(axis, Math.min(12, most));
};

const placed = (panel: Panel, left: number, width: number, widths: TextWidths) => ({
  panel,
  left,
  width,
  x: acrossTicks(panel.x, width, widths),
  topTicks: panel.top ? acrossTicks(panel.top, width, widths) : [],
});

/** Space that a panel needs above and below it. [px] */
const roomOf = ({ y, x, top }: Panel): { above: number; below: number } => ({
  above: (y.label === '' ? 8 : 24) + (top ? 32 : 0),
  below: x.isBare ? 4 : x.label === '' ? 22 : 40,
});

/** Lays out everything on the sheet. */
export const layoutOf = (given: Chart, { width, height }: Size, widths: TextWidths): Layout => {
  const chart = {
    ...given,
    panels: given.panels.map((panel) => ({ ...panel, series: panel.series.filter(isSeen) })),
  };
  const inner = width - 2 * EDGE;
  const lines: WrittenLine[] = [];
  const titleSize = Math.min(TITLE_SIZE, (TITLE_SIZE * inner) / widths.of(chart.title, TITLE_SIZE, 'bold'));
  lines.push({ text: chart.title, x: EDGE, y: 28, size: titleSize, isBold: true });
  const about = chart.about.flatMap((line) => widths.wrapped(line, inner, ABOUT_SIZE));
  let y = 48;
  for (const text of about) {
    lines.push({ text, x: EDGE, y, size: ABOUT_SIZE, isGrey: true });
    y += 17;
  }
  const notes = chart.notes.flatMap((note) => widths.wrapped(note, inner, LABEL_SIZE));
  let footY = height - 12 - 15 * (notes.length - 1);
  const bottom = footY - (notes.length > 0 ? 20 : 0);
  for (const text of notes) {
    lines.push({ text, x: EDGE, y: footY, size: LABEL_SIZE, isGrey: true });
    footY += 15;
  }
  if (chart.empty !== undefined) {
    const words = widths.wrapped(chart.empty, inner, 16);
    words.forEach((text, row) => {
      lines.push({ text, x: width / 2, y: (y + bottom) / 2 + 24 * row, size: 16, anchor: 'center' });
    });
    return { lines, legend: [], panels: [] };
  }
  const legend = legendOf(chart.panels, widths, width, y - 8);
  const top = legend.length > 0 ? Math.max(...legend.map((entry) => entry.y)) + LEGEND_ROW / 2 + 4 : y;
  const left = EDGE + widestLabel(chart.panels, widths, width, LANES_SHARE) + 10;
  const right = EDGE + widths.of('0000-0', LABEL_SIZE);
  const across = chart.panels.map((panel) => placed(panel, left, width - left - right, widths));
  return { lines, legend, panels: stacked(across, top, bottom, widths, left) };
};

const stacked = (
  across: ReturnType<typeof placed>[],
  top: number,
  bottom: number,
  widths: TextWidths,
  left: number,
): PlacedPanel[] => {
  const rooms = across.map(({ panel }) => roomOf(panel));
  const fixed = across.map(({ panel }) => ('px' in panel.height ? panel.height.px : 0));
  const shares = across.map(({ panel }) => ('share' in panel.height ? panel.height.share : 0));
  const sum = (values: number[]): number => values.reduce((all, each) => all + each, 0);
  const free = bottom - top - sum(rooms.map(({ above, below }) => above + below)) - sum(fixed);
  let at = top;
  return across.map(({ panel, width, x, topTicks }, index) => {
    const { above, below } = rooms[index];
    const height = fixed[index] || Math.max(LEAST_PANEL, (free * shares[index]) / sum(shares));
    const place = { panel, left, top: at + above, width, height };
    at += above + height + below;
    const ticks = ticksOf(panel.y, Math.max(2, Math.floor(height / 36)));
    const y = ticks.map((tick) => ({ ...tick, label: widths.cut(tick.label, left - 20, LABEL_SIZE) }));
    return { ...place, ticks: { x, y, top: topTicks } };
  });
};
