import type { Pen, Place } from '../../../../common/drawing/drawing.js';
import { lineSample, type Panel, SMALL } from '../panel.js';
import { alongSheet, endsOf, type Log, short } from '../strip-data.js';
import type { Track } from './track.js';

const VALUE: Pen = { colour: '#111111', width: 0.45 };
/** Half the height of a bar's end, and the space between it and a label. [mm] */
const END = 0.6;
const GAP = 0.25;
/** Half the height of a label with its descenders, as a multiple of the font size. */
const HALF = 0.62;
const RANGE: Pen = { colour: '#111111', width: 0.2, dashes: [1, 0.7] };

/** A rating of each ground log over its length, at its value; the value is written above, or below where the bar is high. */
const ratings = (
  panel: Panel,
  logs: Log[],
  y: (value: number) => number,
  of: (log: Log) => { value: number; text: string; range?: number[] } | undefined,
): void => {
  const rated = logs.flatMap((log) => {
    const [span, rating] = [panel.span(endsOf(log)), of(log)];
    return span && rating
      ? [{ span, text: rating.text.trim(), at: y(rating.value), range: (rating.range ?? []).map(y) }]
      : [];
  });
  panel.pieces(
    rated.flatMap(({ span: [left, right], at }): Place[] => [
      [left, at],
      [right, at],
      [left, at - END],
      [left, at + END],
      [right, at - END],
      [right, at + END],
    ]),
    VALUE,
  );
  for (const { span, at, range } of rated) {
    panel.keepFree(span, at, END);
    for (const each of range) panel.keepFree(span, each, GAP);
  }
  for (const { span, text, at, range } of rated) {
    const width = panel.width(text);
    const away = END + GAP + HALF * SMALL;
    const [middle, up, down] = [(span[0] + span[1] - width) / 2, at - away, at + away];
    panel.beside(text, [
      [middle, up],
      [middle, down],
      [middle, Math.min(at, ...range) - away],
      [middle, Math.max(at, ...range) + away],
      [span[1] + 0.6, up],
      [span[1] + 0.6, down],
      [span[0] - width - 0.6, up],
      [span[0] - width - 0.6, down],
    ]);
  }
};

/** Range of Q in powers of ten (Barton, Lien and Lunde 1974: 0.001 to 1000). */
const Q_FROM = -3;
const Q_TO = 3;

export const Q: Track = {
  name: 'q',
  title: 'Q',
  under: 'log scale',
  about: 'Rock mass quality Q of the ground logs, with the range where one was given',
  height: () => 12,
  rows: ['logs'],
  views: ['ground_log'],
  draw: (panel, { rows }) => {
    const [top, bottom] = [panel.top + 1, panel.bottom - 1];
    const y = (q: number): number => {
      const part = (Math.log10(q) - Q_FROM) / (Q_TO - Q_FROM);
      return bottom - Math.min(1, Math.max(0, part)) * (bottom - top);
    };
    panel.ticks([0.001, 0.1, 10, 1000].map((q) => ({ at: y(q), text: String(q) })));
    ratings(panel, rows.logs, y, ({ q, qClass, qLowest, qHighest }) =>
      q === null
        ? undefined
        : {
            ...{ value: q, text: `${Number(q.toPrecision(3))} ${qClass ?? ''}` },
            range: qLowest === null || qHighest === null ? [] : [qLowest, qHighest],
          },
    );
    const ranges: Place[] = [];
    for (const log of rows.logs) {
      const span = panel.span(endsOf(log));
      if (!span || log.qLowest === null || log.qHighest === null) continue;
      for (const q of [log.qLowest, log.qHighest]) ranges.push([span[0], y(q)], [span[1], y(q)]);
    }
    if (ranges.length === 0) return;
    panel.pieces(ranges, RANGE);
    panel.explain('q range', 'range of Q, from least to most favourable inputs', lineSample(RANGE));
  },
};

export const RMR: Track = {
  name: 'rmr',
  title: 'RMR',
  about: 'Rock Mass Rating of the ground logs',
  height: () => 10,
  rows: ['logs'],
  views: ['ground_log'],
  draw: (panel, { rows }) =>
    ratings(panel, rows.logs, panel.axis(0, 100), ({ rmr, rmrClass }) =>
      rmr === null ? undefined : { value: rmr, text: `${rmr} ${rmrClass ?? ''}` },
    ),
};

export const GSI: Track = {
  name: 'gsi',
  title: 'GSI',
  about: 'Geological Strength Index of the ground logs, as observed',
  height: () => 10,
  rows: ['logs'],
  views: ['ground_log'],
  draw: (panel, { rows }) =>
    ratings(panel, rows.logs, panel.axis(0, 100), ({ gsi }) =>
      gsi === null ? undefined : { value: Number(gsi), text: short(gsi) },
    ),
};

/** Letters of the kinds of discontinuities. */
const TYPES: Record<string, string> = {
  joint: 'J',
  bedding: 'B',
  foliation: 'S',
  fault: 'F',
  shear_zone: 'Z',
  vein: 'V',
  contact: 'C',
};

/** Strike and dip: a line along the strike, a tick in the direction of dip. North is at the top of the sheet. */
const symbol = (x: number, y: number, dipDirection: number, size: number): Place[] => {
  const turn = (dipDirection * Math.PI) / 180;
  const [dx, dy] = [Math.sin(turn), -Math.cos(turn)];
  return [
    [x - dy * size, y + dx * size],
    [x + dy * size, y - dx * size],
    [x, y],
    [x + dx * size * 0.5, y + dy * size * 0.5],
  ];
};

export const DISCONTINUITIES: Track = {
  name: 'discontinuities',
  title: 'Discontinuities',
  under: 'dip/dip direction °',
  about: 'Discontinuities as mapped: strike and dip, kind and set',
  height: () => 11,
  rows: ['discontinuities'],
  views: ['discontinuity_row'],
  draw: (panel, drawn) => {
    const marks: Place[] = [];
    const heavy: Place[] = [];
    const [first, second] = [panel.top + 0.3 * panel.height, panel.bottom - 0.15 * panel.height];
    const taken = [-Infinity, -Infinity];
    for (const each of alongSheet(drawn.rows.discontinuities)) {
      if (!panel.has(each.fromM, panel.reach.highM >= drawn.highM)) continue;
      const x = panel.x(each.fromM);
      const isFault = each.type === 'fault' || each.type === 'shear_zone';
      (isFault ? heavy : marks).push(...symbol(x, first, each.dipDirection, 1.8));
      const type = TYPES[each.type] ?? '?';
      const text = `${each.set ?? type} ${each.dip}/${String(each.dipDirection).padStart(3, '0')}`;
      const width = panel.width(text, 1.8);
      const rows = [second, second - 2.2];
      const row = taken.findIndex((until) => x - width / 2 > until + 0.6);
      const left = Math.min(Math.max(x - width / 2, panel.left), panel.right - width);
      if (row >= 0) {
        panel.text(text, left, rows[row] ?? second, { size: 1.8 });
        taken[row] = left + width;
      }
      panel.explain(
        isFault ? 'strike heavy' : 'strike',
        isFault
          ? 'fault, shear zone (F, Z)'
          : 'strike and dip, north up the sheet (J joint, B bedding, S foliation, V vein, C contact)',
        (sx, sy) => [
          {
            kind: 'pieces',
            places: symbol(sx + 4, sy + 2, 60, 1.8),
            pen: { colour: '#111111', width: isFault ? 0.5 : 0.2 },
          },
        ],
      );
    }
    panel.pieces(marks, { colour: '#111111', width: 0.2 });
    panel.pieces(heavy, { colour: '#111111', width: 0.5 });
  },
};
