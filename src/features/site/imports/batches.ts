import { faulty } from '../../../common/api/problem.js';
import type { Kind } from './kinds.service.js';
import type { LargeTable } from './large-table.js';
import { MOST_ROWS, MOST_WHOLE_ROWS } from './limits.js';
import { identityOf, type ImportRow, isPassedOver, kindOfRow, rowOf, textIn } from './table-rows.js';
import { SeenKeys } from './seen-keys.js';

/** Records per batch: with records put one by one, other writes wait for about a second; many put at once take few statements. */
const BATCH = 100;
const MANY_BATCH = 1000;

/** Rows after which a batch ends with the current record. */
const FULL_ROWS = 2000;

/** Rows validated together depend on their neighbours, so a batch of them is as large as an import in one transaction may be. */
const TOGETHER_BATCH = MOST_WHOLE_ROWS;

/** The record to which a row belongs; undefined: the row has no key. */
const keyOf = (kind: Kind, row: ImportRow): string | undefined =>
  kind.keys.some(({ heading }) => textIn(row, heading) === '')
    ? undefined
    : JSON.stringify([kind.kind, ...identityOf(kind, row)]);

/**
 * The rows of a table in batches of records, without skipped rows. The rows of a record must be consecutive in the table, and come in
 * one batch.
 * @throws ProblemError invalid for a record with more rows than a table imported by one request may have
 */
export async function* batchesOf(
  kind: Kind,
  { fields, rows }: LargeTable,
  passOver: () => void,
): AsyncGenerator<ImportRow[]> {
  const most = kind.together ? TOGETHER_BATCH : kind.many ? MANY_BATCH : BATCH;
  const seen = new SeenKeys();
  let batch: { row: ImportRow; key?: string }[] = [];
  let records = 0;
  let ofRecord = 0;
  let last: string | undefined;
  const ended = (): ImportRow[] => {
    for (const { row, key } of batch) if (key !== undefined) seen.add(key, row.line);
    const whole = batch.map(({ row }) => row);
    [batch, records] = [[], 0];
    return whole;
  };
  for await (const read of rows())
    for (const each of read) {
      const row = rowOf(each, fields);
      if (isPassedOver(kind, row)) {
        passOver();
        continue;
      }
      const own = kindOfRow(kind, row);
      const key = keyOf(own, row);
      const isNext = own.members === undefined || key === undefined || key !== last;
      if (isNext && (records === most || (own.members && batch.length >= FULL_ROWS))) yield ended();
      if (isNext) records += 1;
      ofRecord = isNext ? 1 : ofRecord + 1;
      const before = key === undefined ? undefined : seen.lineOf(key);
      if (before !== undefined) row.faults.push(repeated(own, row, before));
      batch.push({ row, key });
      last = key;
      if (own.members && ofRecord > MOST_ROWS)
        throw faulty('invalid', [
          {
            in: 'body',
            pointer: '/file',
            detail: `line ${row.line}: one ${own.members.record} has more than ${MOST_ROWS} rows`,
          },
        ]);
    }
  if (batch.length > 0) yield ended();
}

const repeated = ({ keys, members }: Kind, row: ImportRow, before: number): ImportRow['faults'][number] => {
  const value = keys.map(({ heading }) => textIn(row, heading)).join(' ');
  return {
    field: keys.at(-1)?.heading ?? '',
    value,
    detail: members
      ? `${value} has rows from line ${before} on: in a large table the rows of one ${members.record} must follow each other`
      : `${value} is listed twice, on lines ${before} and ${row.line}`,
  };
};
