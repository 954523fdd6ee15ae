/** A change of the history as reported by the API. */
export interface Change {
  number: number;
  madeAt: string;
  actor: string;
  credential: string | null;
  reason: string | null;
  requestId: string | null;
  tables: string[];
  drives: string[];
  hash: string;
}

export type RowChange = {
  line: number;
  table: string;
  id: number;
  before: object | null;
  after: object | null;
};

/** The codes of the drives to which rows belong, found from the rows themselves. */
export const drivesOf = (rows: RowChange[], drives: { id: number; code: string }[]): string[] => {
  const ids = rows.map(({ table, id, before, after }) =>
    table === 'drive' ? id : ({ ...before, ...after } as { drive_id?: number }).drive_id,
  );
  return drives
    .filter(({ id }) => ids.includes(id))
    .map(({ code }) => code)
    .sort();
};
