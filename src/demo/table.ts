export interface Column<Row> {
  title: string;
  value: (row: Row) => string | number | null | undefined;
  /** Right-aligned, for figures. */
  right?: boolean;
}

const cell = (text: string, width: number, right = false): string =>
  right ? text.padStart(width) : text.padEnd(width);

/** Rows as a text table; values are printed unchanged. */
export const table = <Row>(rows: Row[], columns: Column<Row>[]): string => {
  if (rows.length === 0) return '  (none)';
  const texts = rows.map((row) => columns.map(({ value }) => String(value(row) ?? '')));
  const widths = columns.map(({ title }, index) =>
    Math.max(title.length, ...texts.map((cells) => cells[index]?.length ?? 0)),
  );
  const line = (cells: string[]): string =>
    `  ${cells.map((text, index) => cell(text, widths[index] ?? 0, columns[index]?.right)).join('  ')}`.trimEnd();
  const rule = widths.map((width) => '-'.repeat(width)).join('  ');
  return [line(columns.map(({ title }) => title)), `  ${rule}`, ...texts.map(line)].join('\n');
};
