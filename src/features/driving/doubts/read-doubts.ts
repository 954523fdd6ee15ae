import { readRows, type Statements } from '../../../common/database/database.js';
import { doubtText } from './doubt-words.js';
import type { RecordDoubt } from './doubt.models.js';

const COLUMNS = `doubt, record, name, line, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to,
  measured::text as measured, limit_value::text as limit, unit, shift_date as date, shift_name as shift, shift_state as state, reason,
  confirmed_by as "confirmedBy", confirmed_at as "confirmedAt"`;

const ORDER = 'order by shift_date nulls first, shift_name, from_m, doubt, name, line';

/** An import may cause very many doubts: the doubtful strokes are counted, and only the first doubts are read in full. */
const OF_IMPORTS = `with found as materialized (
    select * from record_doubt where drive_id = $1 and shift_id is null and record = 'stroke'
  )
  select (select count(distinct name)::int from found) as doubted, ${COLUMNS} from found ${ORDER} limit $2`;

type Row = Omit<RecordDoubt, 'detail'>;

const inWords = (row: Row): RecordDoubt => ({ ...row, detail: doubtText(row) });

/** Doubts with their texts, by shift and place. @param where  a condition on view record_doubt */
export const readDoubts = async (
  statements: Statements,
  where: string,
  ...parameters: unknown[]
): Promise<RecordDoubt[]> => {
  const rows = await readRows<Row>(
    statements,
    `select ${COLUMNS} from record_doubt ${where} ${ORDER}`,
    ...parameters,
  );
  return rows.map(inWords);
};

/** Number of doubtful strokes of a drive without a shift, and the first doubts about them. */
export const readImportDoubts = async (
  statements: Statements,
  driveId: number,
  most: number,
): Promise<{ doubted: number; doubts: RecordDoubt[] }> => {
  const rows = await readRows<Row & { doubted: number }>(statements, OF_IMPORTS, driveId, most);
  return { doubted: rows[0]?.doubted ?? 0, doubts: rows.map(({ doubted: _, ...row }) => inWords(row)) };
};
