/**
 * The cells of one line of a CSV table. A quoted cell ends on its line: so a line stands for itself, and a bad one spoils
 * no other.
 * @param most  cells that are read; what follows them is left unread
 * @throws RangeError for quotation marks that do not match
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
        cell += '"'; // two in a row are one that is meant
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
