import { readRows, type Statements } from '../../common/database/database.js';
import { doubtInWords } from './doubt-words.js';
import type { RecordDoubt } from './doubt.models.js';

const DOUBTS = `select doubt, record, name, line, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to,
  measured::text as measured, limit_value::text as limit, unit, shift_date as date, shift_name as shift, shift_state as state, reason,
  confirmed_by as "confirmedBy", confirmed_at as "confirmedAt" from record_doubt`;

/** Doubts with their words, by shift and place. @param where  a condition on view record_doubt */
export const readDoubts = async (
  statements: Statements,
  where: string,
  ...parameters: unknown[]
): Promise<RecordDoubt[]> => {
  const rows = await readRows<Omit<RecordDoubt, 'detail'>>(
    statements,
    `${DOUBTS} ${where} order by shift_date nulls first, shift_name, from_m, doubt, name, line`,
    ...parameters,
  );
  return rows.map((row) => ({ ...row, detail: doubtInWords(row) }));
};
