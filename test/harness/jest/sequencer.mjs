import path from 'node:path';
import { readFileSync } from 'node:fs';
import Sequencer from '@jest/test-sequencer';

const { dirname } = import.meta;
const tests = path.join(dirname, '..', '..');

/** Files that take long, longest first: if one of them began last, it would keep one core busy alone. */
const LONGEST = readFileSync(path.join(dirname, 'longest.txt'), 'utf8').trim().split('\n');

const rank = ({ path: file }) => {
  const place = LONGEST.indexOf(path.relative(tests, file));
  return place < 0 ? LONGEST.length : place;
};

/** Where Jest has no stored durations, as in CI, it would order files by size. */
export default class LongestFirst extends Sequencer {
  sort(files) {
    return super.sort(files).toSorted((one, other) => rank(one) - rank(other));
  }
}
