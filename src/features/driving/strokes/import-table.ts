/** Most rows of one table, blank ones too; a drive of 20 km has some 12 000 strokes. */
export const TABLE_LIMIT_ROWS = 50_000;

export const STROKE_TABLE = { mostRows: TABLE_LIMIT_ROWS, rows: 'strokes' };
