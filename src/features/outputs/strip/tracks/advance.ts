import { axisEnds } from '../../../../engineering/axis-ticks.js';
import type { Place } from '../../../../common/drawing/drawing.js';
import { FINE, type Panel, Row, THIN } from '../panel.js';
import { alongSheet, endsOf, short } from '../strip-data.js';
import type { Track } from './track.js';

/** Writes year and month where a month begins on the sheet. */
const writeMonths = (panel: Panel, days: { day: string; span: [number, number] }[], middle: number): void => {
  const row = new Row(panel, middle);
  let month = '';
  for (const { day, span } of days) {
    if (day.slice(0, 7) === month) continue;
    month = day.slice(0, 7);
    row.put(month, span[0] + 0.4, 'start', true);
  }
};

export const DATES: Track = {
  name: 'dates',
  title: 'Date',
  under: 'production day',
  about: 'Production days, with a line at the face position at the end of each',
  height: () => 6,
  rows: ['days'],
  views: ['day_advance'],
  draw: (panel, { rows }) => {
    const ends: Place[] = [];
    const days = alongSheet(rows.days).flatMap((day) => {
      const span = panel.span(endsOf(day));
      return span ? [{ ...day, span }] : [];
    });
    for (const { fromM, toM } of days)
      for (const at of [fromM, toM])
        if (at >= panel.reach.lowM && at <= panel.reach.highM)
          ends.push([panel.x(at), panel.top], [panel.x(at), panel.bottom]);
    const isWhole = days.every(({ day, span }) => panel.width(day) < span[1] - span[0]);
    const quarter = panel.height / 4;
    const row = new Row(panel, isWhole ? panel.top + 2 * quarter : panel.bottom - quarter);
    for (const { day, span } of days) {
      const room = span[1] - span[0];
      const text = (isWhole ? [day] : [day.slice(5), day.slice(8)]).find((each) => panel.width(each) < room);
      if (text !== undefined) row.put(text, (span[0] + span[1]) / 2);
    }
    if (!isWhole) writeMonths(panel, days, panel.top + quarter);
    panel.pieces(ends);
  },
};

export const ADVANCE: Track = {
  name: 'advance',
  title: 'Advance per day',
  under: 'm',
  about: 'Metres bored in each production day',
  height: () => 12,
  rows: ['days'],
  views: ['day_advance'],
  draw: (panel, { rows }) => {
    const { to } = axisEnds(
      rows.days.map(({ advance }) => Number(advance)),
      4,
    );
    const y = panel.axis(0, to);
    for (const day of rows.days) {
      const span = panel.span(endsOf(day));
      if (!span) continue;
      const top = y(Number(day.advance));
      panel.rect(span, [top, y(0)], { fill: '#d6dde3', pen: THIN });
      const words = [short(day.advance)];
      if (!panel.label(words, span, [panel.bottom - 3.6, panel.bottom - 1.2], { size: 1.8, isLevel: true }))
        panel.label(words, span, [panel.top + 0.4, panel.bottom - 0.4], { size: 1.8, isOnHatch: true });
    }
    panel.pieces(
      [
        [panel.left, y(0)],
        [panel.right, y(0)],
      ],
      FINE,
    );
  },
};
