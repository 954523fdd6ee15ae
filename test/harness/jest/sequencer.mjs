import path from 'node:path';
import { readFileSync } from 'node:fs';
import Sequencer from '@jest/test-sequencer';

const { dirname } = import.meta;
const tests = path.join(dirname, '..', '..');

/** Files that take long, the longest first: one of them begun last would keep one core busy alone. */
const LONGEST = readFileSync(path.join(dirname, 'longest.txt'), 'utf8').trim().split('\n');

const rank = ({ path: file }) => {
  const place = LONGEST.indexOf(path.relative(tests, file));
  return place < 0 ? LONGEST.length : place;
};

/** Where Jest has not kept how long each file took, as in CI, it would go by their size. */
export default class LongestFirst extends Sequencer {
  sort(files) {
    return super.sort(files).toSorted((one, other) => rank(one) - rank(other));
  }
}
