import { driveId } from '../../../common/database/drive-reader.service.js';
import type { Statements } from '../../../common/database/database.js';
import { DoubtedRecord, type RecordDoubt } from '../../driving/doubts/doubt.models.js';
import {
  readFirstDoubts,
  type Written,
  writtenByName,
  writtenShifts,
} from '../../driving/doubts/read-doubts.js';
import { BASE, type KindPut } from './kinds.service.js';
import type { TableRecord } from './table-rows.js';

type Keys = TableRecord['keys'];

const named =
  (record: DoubtedRecord) =>
  (keys: readonly Keys[]): Written =>
    writtenByName(
      record,
      keys.map(({ name = '' }) => name),
    );

/** The records that can be doubted, by the address of their PUT below the drive. */
const DOUBTED: Partial<Record<string, (keys: readonly Keys[]) => Written>> = {
  'shifts/:date/:shift': (keys) => writtenShifts(keys.map(({ date = '', shift = '' }) => ({ date, shift }))),
  'ground-logs/:name': named(DoubtedRecord.ground_log),
  'overbreak/:name': named(DoubtedRecord.overbreak),
};

/** How many records of a table are doubted, and the first doubts about them; nothing for a kind that cannot be doubted. */
export const tableDoubts = async (
  statements: Statements,
  { put }: KindPut,
  { drive = '' }: Record<string, string>,
  records: readonly TableRecord[],
): Promise<{ doubted?: number; doubts?: RecordDoubt[] }> => {
  const written = DOUBTED[put.path.replace(`${BASE}/drives/:drive/`, '')];
  const stored = records.filter(({ outcome }) => outcome !== undefined);
  if (!written || stored.length === 0) return {};
  const id = await driveId(statements, drive);
  return readFirstDoubts(statements, id, written(stored.map(({ keys }) => keys)));
};
