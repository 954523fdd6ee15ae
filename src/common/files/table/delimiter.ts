import { DELIMITERS, refused } from './forms.js';

/** Rows examined: a heading row, and rows above and below it. */
const LOOKED_AT = 50;

/** Number of cells in each of the first rows: quoted delimiters do not count. */
const widths = (text: string, delimiter: string): number[] => {
  const found: number[] = [];
  let cells = 1;
  let isQuoted = false;
  let isBlank = true;
  for (let at = 0; at < text.length && found.length < LOOKED_AT; at += 1) {
    const character = text[at];
    if (character === '"') isQuoted = !isQuoted;
    else if (isQuoted) continue;
    else if (character === delimiter) cells += 1;
    else if (character === '\n') {
      if (!isBlank) found.push(cells);
      [cells, isBlank] = [1, true];
      continue;
    }
    isBlank = false;
  }
  if (!isBlank && found.length < LOOKED_AT) found.push(cells);
  return found;
};

/**
 * The column delimiter of a table: the character that splits its first row of several columns. If two characters do, the one by
 * which all rows have the same number of columns.
 * @throws ProblemError invalid when none or several qualify
 */
export const findDelimiter = (text: string): string => {
  const candidates = Object.entries(DELIMITERS).map(([name, character]) => {
    const counted = widths(text, character);
    const head = counted.findIndex((width) => width > 1);
    const below = counted.slice(head);
    return { name, character, head, isEven: below.length > 1 && below.every((width) => width === below[0]) };
  });
  const splitting = candidates.filter(({ head }) => head >= 0);
  const first = Math.min(...splitting.map(({ head }) => head));
  const heads = splitting.filter(({ head }) => head === first);
  const [only, another] = heads;
  if (!only) return ',';
  const rivals = splitting.filter(({ head, isEven }) => head > first && isEven);
  if (!another && (only.isEven || rivals.length === 0)) return only.character;
  const several = [...heads, ...rivals];
  const even = several.filter(({ isEven }) => isEven);
  if (even.length === 1 && even[0]) return even[0].character;
  throw refused(
    '/delimiter',
    undefined,
    `the columns may be separated by ${several.map(({ name }) => name).join(' or ')}: declare delimiter`,
  );
};
