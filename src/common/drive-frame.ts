import { readRows, type Statements } from './database/database.js';
import { DriveFrame } from './drive-places.js';

export { DriveFrame };

/** Columns of table drive. */
export const FRAME_COLUMNS = `(start_chainage_m * 1000)::float8 as "startMm", (drive_length(start_chainage_m, end_chainage_m) * 1000)::float8 as "lengthMm", direction`;

type Row = Pick<DriveFrame, 'startMm' | 'lengthMm' | 'direction'>;

const frameOf = ({ startMm, lengthMm, direction }: Row): DriveFrame =>
  new DriveFrame(startMm, lengthMm, direction);

/** Frames by reading: a drive's frame is read together with its id. */
const known = new WeakMap<Statements, { driveId: number; frame: DriveFrame }>();

export const keepFrame = (statements: Statements, driveId: number, row: Row): void => {
  known.set(statements, { driveId, frame: frameOf(row) });
};

export const driveFrame = async (statements: Statements, driveId: number): Promise<DriveFrame> => {
  const kept = known.get(statements);
  if (kept?.driveId === driveId) return kept.frame;
  const [row] = await readRows<Row>(statements, `select ${FRAME_COLUMNS} from drive where id = $1`, driveId);
  if (!row) throw new Error(`drive ${driveId} is gone`);
  return frameOf(row);
};
