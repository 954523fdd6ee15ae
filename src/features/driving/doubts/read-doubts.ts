import { readRows, type Statements } from '../../../common/database/database.js';
import { doubtText } from './doubt-words.js';
import type { DoubtedRecord, RecordDoubt } from './doubt.models.js';

/** Doubts that are read in full where there may be very many. */
const MOST_DOUBTS = 100;

const COLUMNS = `doubt, record, name, line, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to,
  measured::text as measured, limit_value::text as limit, unit, shift_date as date, shift_name as shift, shift_state as state, reason,
  confirmed_by as "confirmedBy", confirmed_at as "confirmedAt"`;

const ORDER = 'order by shift_date nulls first, shift_name, from_m, doubt, name, line';

/** An import may cause very many doubts: what is doubted is counted, by shifts or by names, and only the first doubts are read in full. */
const firstOf = (where: string): string => `with found as materialized (select * from record_doubt ${where})
  select (select count(distinct coalesce(shift_id::text, name))::int from found) as doubted, ${COLUMNS} from found ${ORDER} limit ${MOST_DOUBTS}`;

/** What was written: a condition on view record_doubt, in which $2 is the parameter. */
export interface Written {
  where: string;
  parameters: unknown[];
}

/** Records that belong to no shift: strokes by their numbers, others by their names. */
export const writtenByName = (record: DoubtedRecord, names: readonly string[]): Written => ({
  where: `record = '${record}' and shift_id is null and name = any ($2)`,
  parameters: [names],
});

/** All strokes that belong to no shift. */
export const WRITTEN_BY_IMPORTS: Written = {
  where: `record = 'stroke' and shift_id is null`,
  parameters: [],
};

/** Shifts, with all that they contain. */
export const writtenShifts = (shifts: readonly { date: string; shift: string }[]): Written => ({
  where: `shift_id = any (array(
    select s.id from shift s join calendar_shift n on n.id = s.calendar_shift_id
    where s.drive_id = $1 and (s.shift_date, n.name) in (select * from jsonb_to_recordset($2::jsonb) as r(date date, shift text))))`,
  parameters: [JSON.stringify(shifts)],
});

/** Doubts that nobody confirmed. */
const open = (written: string): string => `where drive_id = $1 and confirmed_by is null and ${written}`;

/** The first doubts that nobody confirmed, as JSON beside what else a statement reads. @param where  a condition on view record_doubt */
export const doubtsAsJson = (where: string): string =>
  `(select coalesce(json_agg(t), '[]') from (
    select ${COLUMNS} from record_doubt where confirmed_by is null and ${where} ${ORDER} limit ${MOST_DOUBTS}) t)::text`;

/** The doubts in such JSON. */
export const doubtsIn = (json: string): RecordDoubt[] => (JSON.parse(json) as Row[]).map(inWords);

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

/** The doubts about what was written that nobody confirmed. */
export const readDoubtsOf = (
  statements: Statements,
  driveId: number,
  { where, parameters }: Written,
): Promise<RecordDoubt[]> => readDoubts(statements, open(where), driveId, ...parameters);

/** A record of a drive that belongs to no shift, with the doubts about it; both are read at once. @returns undefined: there is none */
export const readWithDoubts = async <T extends object>(
  statements: Statements,
  driveId: number,
  record: DoubtedRecord,
  name: string,
  reading: Promise<T[]>,
): Promise<(T & { doubts: RecordDoubt[] }) | undefined> => {
  const [[found], doubts] = await Promise.all([
    reading,
    readDoubtsOf(statements, driveId, writtenByName(record, [name])),
  ]);
  return found && { ...found, doubts };
};

/** How much of what was written is doubted, and the first doubts that nobody confirmed. */
export const readFirstDoubts = async (
  statements: Statements,
  driveId: number,
  { where, parameters }: Written,
): Promise<{ doubted: number; doubts: RecordDoubt[] }> => {
  const rows = await readRows<Row & { doubted: number }>(
    statements,
    firstOf(open(where)),
    driveId,
    ...parameters,
  );
  return { doubted: rows[0]?.doubted ?? 0, doubts: rows.map(({ doubted: _, ...row }) => inWords(row)) };
};
