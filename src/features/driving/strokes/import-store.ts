import type { Transaction } from '../../../common/database/database.js';
import { BORING } from '../stroke-values/boring-columns.js';

const REMOVE = `delete from boring where drive_id = $1 and shift_id is null and id = any($2::int[])`;

const CREATE = `insert into boring (drive_id, ${BORING.names})
  select $1, ${BORING.values} from jsonb_to_recordset($2::jsonb) as r(${BORING.record}) order by r."fromM"`;

/**
 * Writes an import without faults: one statement for removals, and one per some thousands of new strokes.
 * @param leaving  ids of the borings to remove
 * @param strokes  as returned by valuedStrokes
 */
export const storeImport = async (
  transaction: Transaction,
  driveId: number,
  leaving: number[],
  strokes: string[],
): Promise<void> => {
  if (leaving.length > 0) await transaction.$executeRawUnsafe(REMOVE, driveId, leaving);
  for (const rows of strokes) await transaction.$executeRawUnsafe(CREATE, driveId, rows);
};
