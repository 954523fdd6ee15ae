import type { Entry, StripRows } from './strip-data.js';

export interface Remark {
  number: number;
  entry: Entry;
  text: string;
}

/** The remarks of an interval, numbered by rising chainage; captions of files are shown with the files. */
export const remarksOf = ({ entries, registers }: Pick<StripRows, 'entries' | 'registers'>): Remark[] =>
  [...entries, ...registers]
    .flatMap((entry) => (entry.remark === null || entry.remark === '' ? [] : [{ entry, text: entry.remark }]))
    .toSorted((one, other) => one.entry.fromM - other.entry.fromM)
    .map((remark, index) => ({ number: index + 1, ...remark }));
