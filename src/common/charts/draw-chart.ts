import { CustomChart, LineChart, ScatterChart } from 'echarts/charts';
import { GraphicComponent, GridComponent } from 'echarts/components';
import * as echarts from 'echarts/core';
import { SVGRenderer } from 'echarts/renderers';
import type { EChartsCoreOption } from 'echarts/core';
import { extremesByColumn } from '../../engineering/extremes.js';
import { svgText } from '../svg-text.js';
import { mergedBoxes } from './boxes.js';
import type { Axis, Box, Chart, Series, Size } from './chart.js';
import { FONT_FAMILIES, TextWidths } from './fonts.js';
import {
  LABEL_SIZE,
  type LegendEntry,
  type Layout,
  layoutOf,
  type PlacedPanel,
  type WrittenLine,
} from './layout.js';
import { pointLabels } from './point-labels.js';
import { boxLook, GREY, GRID, INK, lineLook } from './looks.js';
import type { Tick } from './ticks.js';

echarts.use([CustomChart, LineChart, ScatterChart, GraphicComponent, GridComponent, SVGRenderer]);

export interface Drawing {
  chart: Chart;
  size: Size;
}

const OUTLINE = 0.6;

type Option = Record<string, unknown>;

/** Series other than words, which are placed as labels. */
type Drawable = Exclude<Series, { kind: 'words' }>;

const isDrawable = (series: Series): series is Drawable => series.kind !== 'words';

const written = ({ text, x, y, size, isBold, isGrey, isHaloed, anchor = 'left' }: WrittenLine): Option => ({
  type: 'text',
  x,
  y,
  z: 10,
  silent: true,
  style: {
    text,
    fontSize: Math.round(size * 10) / 10,
    fontFamily: FONT_FAMILIES,
    ...(isBold && { fontWeight: 'bold' }),
    ...(isHaloed && { stroke: '#ffffff', lineWidth: 3 }),
    fill: isGrey ? GREY : INK,
    textAlign: anchor,
    textVerticalAlign: 'middle',
  },
});

/** Labels beside the axes of a panel. */
const axisWords = ({ panel, left, top, width, height }: PlacedPanel): WrittenLine[] => [
  { text: panel.y.label, x: left, y: top - 12 - (panel.top ? 32 : 0), size: LABEL_SIZE, isBold: true },
  { text: panel.x.label, x: left + width, y: top + height + 32, size: LABEL_SIZE, anchor: 'right' as const },
  ...(panel.top
    ? [{ text: panel.top.label, x: left + width, y: top - 30, size: LABEL_SIZE, anchor: 'right' as const }]
    : []),
];

/** The axis as the library takes it, with our own ticks. */
const axisOption = (
  { kind, from, to, isBare }: Axis,
  ticks: Tick[],
  gridIndex: number,
  position: 'bottom' | 'left' | 'top',
): Option => {
  const labels = new Map(ticks.map(({ at, label }) => [at, label]));
  const customValues = ticks.map(({ at }) => at);
  const isShown = !isBare && ticks.length > 0;
  return {
    type: 'value',
    gridIndex,
    position,
    min: from,
    max: to,
    inverse: kind === 'lanes', // the first on top
    splitLine: { show: false },
    axisLine: { show: true, onZero: false, lineStyle: { color: INK } },
    axisTick: { show: isShown && kind !== 'lanes', customValues, lineStyle: { color: INK } },
    axisLabel: {
      show: isShown,
      customValues,
      hideOverlap: false,
      showMinLabel: true,
      showMaxLabel: true,
      color: INK,
      fontSize: LABEL_SIZE,
      formatter: (value: number) => labels.get(value) ?? '',
    },
  };
};

interface Api {
  coord: (value: [number, number]) => [number, number];
  visual: (name: string) => unknown;
}

const pathOf = (outlines: [number, number][][]): string =>
  outlines.map((points) => `M${points.map(([x, y]) => `${rounded(x)} ${rounded(y)}`).join('L')}`).join('');

const rounded = (value: number): number => Math.round(value * 100) / 100;

/** A series drawn as one path, from the positions of its parts. */
const drawn = (
  gridIndex: number,
  style: Option,
  outlinesOf: (api: Api) => [number, number][][],
  { isClosed = false, ...more }: Option & { isClosed?: boolean } = {},
): Option => ({
  type: 'custom',
  ...axesOf(gridIndex, false),
  data: [0],
  silent: true,
  clip: true,
  animation: false,
  ...more,
  renderItem: (_: unknown, api: Api) => {
    const path = pathOf(outlinesOf(api));
    const decal = api.visual('decal');
    return {
      type: 'path',
      shape: { pathData: isClosed ? path.replace(/(?!^)M/g, 'ZM') + (path === '' ? '' : 'Z') : path },
      style: { ...style, ...(decal ? { decal } : {}) },
    };
  },
});

/** Each panel has two x axes: its own, and that on top. */
const axesOf = (panel: number, isOnTop: boolean | undefined): Option => ({
  xAxisIndex: panel * 2 + (isOnTop ? 1 : 0),
  yAxisIndex: panel,
});

const gridLines = ({ panel, ticks }: PlacedPanel, gridIndex: number): Option =>
  drawn(
    gridIndex,
    { fill: 'none', stroke: GRID, lineWidth: 1 },
    ({ coord }) => [
      ...ticks.x.map(({ at }) => [coord([at, panel.y.from]), coord([at, panel.y.to])]),
      ...ticks.y
        .map(({ at }) => (panel.y.kind === 'lanes' ? at + 0.5 : at)) // lines between them separate lanes
        .map((at) => [coord([panel.x.from, at]), coord([panel.x.to, at])] as [number, number][]),
    ],
    { z: 0, name: 'grid' },
  );

const cornersOf = ({ fromX, toX, fromY, toY }: Box, { coord }: Api): [number, number][] => {
  const [[x1, y1], [x2, y2]] = [coord([fromX, fromY]), coord([toX, toY])];
  const least = Math.abs(x2 - x1) < 0.5 && fromX !== toX ? 0.5 : 0; // keep a narrow one visible
  return [
    [x1, y1],
    [x2 + least, y1],
    [x2 + least, y2],
    [x1, y2],
  ];
};

const itemStyle = (look: number): Option => {
  const { fill, hatch } = boxLook(look);
  return {
    color: fill,
    ...(hatch && { decal: { ...hatch, color: 'rgba(0,0,0,0.75)', symbolSize: hatch.symbolSize ?? 1 } }),
  };
};

const seriesOption = (series: Drawable, place: PlacedPanel, gridIndex: number): Option => {
  const { panel, width } = place;
  const pixel = (series as { isOnTop?: boolean }).isOnTop && panel.top ? panel.top : panel.x;
  const perPixel = Math.abs(pixel.to - pixel.from) / width;
  if (series.kind === 'boxes') {
    const boxes = mergedBoxes(series.boxes, perPixel / 2);
    const style = { fill: boxLook(series.look).fill, stroke: INK, lineWidth: OUTLINE };
    const outlines = (api: Api): [number, number][][] => boxes.map((box) => cornersOf(box, api));
    return drawn(gridIndex, style, outlines, {
      name: series.name,
      isClosed: true,
      itemStyle: itemStyle(series.look),
      ...axesOf(gridIndex, series.isOnTop),
    });
  }
  const common = { silent: true, animation: false, clip: true, z: 3 };
  const look = lineLook(series.look);
  if (series.kind === 'marks') {
    return {
      ...common,
      ...axesOf(gridIndex, series.isOnTop),
      type: 'scatter',
      name: series.name,
      data: series.points,
      symbol: look.mark,
      symbolSize: 9,
      itemStyle: { color: look.colour, borderColor: '#ffffff', borderWidth: 1, opacity: 1 },
    };
  }
  const points = series.isWhole ? series.points : extremesByColumn(series.points, pixel.from, perPixel);
  const isMarked = series.isMarked === true && points.length <= width / 12;
  return {
    ...common,
    ...axesOf(gridIndex, series.isOnTop),
    type: 'line',
    name: series.name,
    data: points,
    connectNulls: false,
    showSymbol: isMarked,
    showAllSymbol: true,
    symbol: look.mark,
    symbolSize: 6,
    itemStyle: { color: look.colour },
    lineStyle: {
      color: look.colour,
      width: look.width,
      type: look.dashes.length > 0 ? look.dashes : 'solid',
      cap: 'butt',
    },
  };
};

const LEGEND_WIDTH = 28;

/** The sample of a look beside its name, drawn in a separate panel without axes. */
const legendSeries = (legend: LegendEntry[], gridIndex: number): Option[] =>
  legend.map(({ series, x, y }): Option => {
    if (series.kind === 'boxes') {
      const style = { fill: boxLook(series.look).fill, stroke: INK, lineWidth: OUTLINE };
      const box = { fromX: x, toX: x + LEGEND_WIDTH - 2, fromY: y - 6, toY: y + 6 };
      return drawn(gridIndex, style, (api) => [cornersOf(box, api)], {
        isClosed: true,
        itemStyle: itemStyle(series.look),
      });
    }
    const { colour, mark, dashes, width } = lineLook(series.look);
    const isMarked = series.kind === 'marks' || series.isMarked === true;
    const ends =
      series.kind === 'marks'
        ? [[x + LEGEND_WIDTH / 2, y]]
        : [
            [x, y],
            [x + LEGEND_WIDTH / 2, y],
            [x + LEGEND_WIDTH, y],
          ];
    return {
      ...axesOf(gridIndex, false),
      type: 'line',
      data: ends,
      silent: true,
      animation: false,
      showSymbol: isMarked,
      showAllSymbol: true,
      symbol: mark,
      symbolSize: (_: unknown, { dataIndex }: { dataIndex: number }) =>
        dataIndex === 1 || ends.length === 1 ? 7 : 0,
      itemStyle: { color: colour },
      lineStyle: { color: colour, width, type: dashes.length > 0 ? dashes : 'solid', cap: 'butt' },
    };
  });

const optionOf = (layout: Layout, { width, height }: Size, widths: TextWidths): EChartsCoreOption => {
  const { panels, legend } = layout;
  const sheet = panels.length;
  const bare = { type: 'value', gridIndex: sheet, show: false, min: 0 };
  const words = [
    ...layout.lines,
    ...panels.flatMap(axisWords),
    ...panels.flatMap((place) => pointLabels(place, widths)),
    ...legend.map(({ name, x, y }) => ({ text: name, x: x + LEGEND_WIDTH + 4, y, size: LABEL_SIZE })),
  ].filter(({ text }) => text !== '');
  return {
    animation: false,
    backgroundColor: '#ffffff',
    textStyle: { fontFamily: FONT_FAMILIES },
    grid: [
      ...panels.map((place) => ({
        left: place.left,
        top: place.top,
        width: place.width,
        height: place.height,
        outerBoundsMode: 'none',
      })),
      { left: 0, top: 0, width, height, outerBoundsMode: 'none' },
    ],
    xAxis: [
      ...panels.flatMap(({ panel, ticks }, index) => [
        axisOption(panel.x, ticks.x, index, 'bottom'),
        panel.top
          ? axisOption(panel.top, ticks.top, index, 'top')
          : { type: 'value', gridIndex: index, show: false, min: panel.x.from, max: panel.x.to },
      ]),
      { ...bare, max: width },
    ],
    yAxis: [
      ...panels.map(({ panel, ticks }, index) => axisOption(panel.y, ticks.y, index, 'left')),
      { ...bare, max: height, inverse: true },
    ],
    series: [
      ...panels.map(gridLines),
      ...panels.flatMap((place, index) =>
        place.panel.series.filter(isDrawable).map((series) => seriesOption(series, place, index)),
      ),
      ...legendSeries(legend, sheet),
    ],
    graphic: { elements: words.map(written) },
  };
};

/** Characters of the record that cannot be printed on one line. */
const UNPRINTABLE = /[^\x20-\uD7FF\uE000-\uFFFD\u{10000}-\u{10FFFF}]/gu;

const printable = <T>(value: T): T => {
  if (typeof value === 'string') return value.replace(UNPRINTABLE, ' ') as T;
  if (Array.isArray(value))
    return (typeof value[0] === 'number' || Array.isArray(value[0]) ? value : value.map(printable)) as T;
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, each]) => [key, printable(each as unknown)]),
  ) as T;
};

let widths: TextWidths | undefined;

/** Removes from the SVG what differs between drawings, and what only a browser with the library would use. */
const settled = (svg: string, { title, about }: Chart): string => {
  const plain = svg
    .replaceAll(/ (ecmeta_\w+|class|pointer-events|baseProfile|version)="[^"]*"/g, '')
    .replace(/<style >[^]*?<\/style>\n?/, '')
    .replaceAll(/\bzr\d+-/g, 'd-')
    .replace(/^<svg /, '<svg role="img" ');
  const end = plain.indexOf('>') + 1;
  const words = `<title>${svgText(title)}</title><desc>${svgText(about.join(' '))}</desc>`;
  return `${plain.slice(0, end)}\n${words}${plain.slice(end)}\n`;
};

/** A chart as SVG. */
export const drawChart = ({ chart: given, size }: Drawing): string => {
  widths ??= new TextWidths();
  const chart = printable(given);
  const layout = layoutOf(chart, size, widths);
  const sheet = echarts.init(null, null, { renderer: 'svg', ssr: true, ...size });
  try {
    sheet.setOption(optionOf(layout, size, widths));
    return settled(sheet.renderToSVGString(), chart);
  } finally {
    sheet.dispose();
  }
};
