/** Views of docs/views.md with the type of each column. */
const viewsOf = (page: string): Map<string, Map<string, string>> => {
  const views = new Map<string, Map<string, string>>();
  let columns = new Map<string, string>();
  for (const line of page.split('\n')) {
    const [, view] = /^### (\w+)$/.exec(line) ?? [];
    if (view !== undefined) views.set(view, (columns = new Map()));
    const [, column, type] = /^\| `(\w+)` +\| ([^|]+?) +\|/.exec(line) ?? [];
    if (column !== undefined && type !== undefined) columns.set(column, type);
  }
  return views;
};

/** What a reader of the views would miss: a view or column that was removed or has another type. */
export const viewBreaks = (before: string, after: string): string[] => {
  const now = viewsOf(after);
  return [...viewsOf(before)].flatMap(([view, columns]) => {
    const found = now.get(view);
    if (!found) return [`the view ${view} is gone`];
    return [...columns].flatMap(([column, type]) => {
      const has = found.get(column);
      if (has === undefined) return [`${view}.${column} is gone`];
      return has === type ? [] : [`${view}.${column}: ${type} → ${has}`];
    });
  });
};
