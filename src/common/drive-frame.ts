import { readRows, type Statements } from './database/database.js';
import { DriveFrame } from './drive-places.js';

export { DriveFrame };

const FRAME = `select (start_chainage_m * 1000)::int8 as "startMm", (abs(end_chainage_m - start_chainage_m) * 1000)::int8 as "lengthMm",
  direction from drive where id = $1`;

export const driveFrame = async (statements: Statements, driveId: number): Promise<DriveFrame> => {
  const [row] = await readRows<DriveFrame>(statements, FRAME, driveId);
  if (!row) throw new Error(`drive ${driveId} is gone`);
  return new DriveFrame(row.startMm, row.lengthMm, row.direction);
};
