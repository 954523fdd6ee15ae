/**
 * The cells of one line of a CSV table. A quoted cell must end on its line, so that a bad line cannot affect the others.
 * @param most  number of cells to read; the rest is ignored
 * @throws RangeError for unbalanced quotation marks
 */
export const cellsOf = (line: string, delimiter: string, most: number): string[] => {
  if (!line.includes('"')) return line.split(delimiter, most);
  const cells: string[] = [];
  let at = 0;
  for (;;) {
    let cell = '';
    if (line[at] === '"') {
      for (;;) {
        const end = line.indexOf('"', at + 1);
        if (end < 0) throw new RangeError('a quotation mark is opened and never closed');
        cell += line.slice(at + 1, end);
        at = end + 1;
        if (line[at] !== '"') break;
        cell += '"'; // two in a row stand for one
      }
      if (at < line.length && line[at] !== delimiter)
        throw new RangeError('text follows a closing quotation mark');
    } else {
      const next = line.indexOf(delimiter, at);
      const end = next < 0 ? line.length : next;
      cell = line.slice(at, end);
      if (cell.includes('"'))
        throw new RangeError('a quotation mark is inside a cell that does not begin with one');
      at = end;
    }
    cells.push(cell);
    if (at >= line.length || cells.length === most) return cells;
    at += 1;
  }
};
