import { endsOf } from '../strip-data.js';
import { type Panel, Row, THIN } from '../panel.js';
import { type Drawn, isLast, type Track } from './track.js';
import { remarksOf } from '../remarks.js';

interface Numbered {
  number: number;
  atM: number;
}

/** Numbers at their places; numbers that would overlap are shown as one mark with the first and the last. */
const numbers = (panel: Panel, drawn: Drawn, all: Numbered[]): void => {
  const middle = (panel.top + panel.bottom) / 2;
  const row = new Row(panel, middle);
  const here = all
    .filter(({ atM }) => panel.has(atM, isLast(panel, drawn)))
    .toSorted((one, other) => one.atM - other.atM || one.number - other.number);
  panel.pieces(
    here.flatMap(({ atM }) => [[panel.x(atM), panel.top] as const, [panel.x(atM), panel.top + 1] as const]),
    THIN,
  );
  for (let from = 0; from < here.length;) {
    const first = here[from];
    if (!first) break;
    let to = from;
    const words = (): string => {
      const group = here.slice(from, to + 1).map(({ number }) => number);
      const [least, most] = [Math.min(...group), Math.max(...group)];
      return least === most
        ? String(least)
        : most - least + 1 === group.length
          ? `${least}–${most}`
          : group.join(',');
    };
    for (let next = here[to + 1]; next; next = here[to + 1]) {
      if (panel.x(next.atM) > panel.x(first.atM) + panel.width(words()) + 1.6) break;
      if (words().length > 24) break;
      to += 1;
    }
    row.put(words(), (panel.x(first.atM) + panel.x(here[to]?.atM ?? first.atM)) / 2, 'middle', true);
    from = to + 1;
  }
};

export const REMARKS: Track = {
  name: 'remarks',
  title: 'Remarks',
  under: 'by number, see the table',
  about: 'Remarks of the record by number, each at the start of its interval',
  height: () => 5.5,
  rows: ['entries', 'registers'],
  views: ['as_built', 'as_built_register'],
  draw: (panel, drawn) =>
    numbers(
      panel,
      drawn,
      remarksOf(drawn.rows).map(({ number, entry }) => ({ number, atM: entry.fromM })),
    ),
};

export const PHOTOS: Track = {
  name: 'photos',
  title: 'Photos and files',
  under: 'number of the attachment',
  about: 'Attachments that have a place, by their number in the drive',
  height: () => 5.5,
  rows: ['files'],
  views: ['attachment'],
  draw: (panel, drawn) =>
    numbers(
      panel,
      drawn,
      drawn.rows.files.map((file) => ({ number: file.number, atM: endsOf(file)[0] })),
    ),
};
