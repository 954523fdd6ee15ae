import { whole } from '../../../common/api/whole.js';
import type { Database } from '../../../common/database/database.js';
import { scope } from '../../../common/database/scope.js';
import { ShiftDocument } from '../../driving/shifts/shift-document.model.js';
import { ShiftVersion } from '../../driving/shifts/shift-life.models.js';
import { ShiftLifeService } from '../../driving/shifts/shift-life.service.js';
import { ShiftsService } from '../../driving/shifts/shifts.service.js';
import type { PackageFiles } from './package-files.js';
import type { Part } from './part.js';

interface Posted {
  drive: string;
  date: string;
  shift: string;
  isGone: boolean;
}

/** Every shift ever posted, including removed ones. */
const SHIFTS = `select d.code as drive, v.shift_date::text as date, n.name as shift, bool_and(v.to_change < 9223372036854775807) as "isGone"
  from history.shift v join drive d on d.id = v.drive_id join calendar_shift n on n.id = v.calendar_shift_id
  where ($1::text is null or d.code = $1) group by 1, 2, 3 order by 1, 2, min(v.starts_at)`;

/** One file per shift: its current document, and every version with who wrote it, when and why. */
export const addShifts = async (
  files: PackageFiles,
  database: Database,
  { drive, progress }: Part,
): Promise<number> => {
  const shifts = new ShiftsService(database);
  const life = new ShiftLifeService(database, shifts);
  const posted = await database.read<Posted>(SHIFTS, drive ?? null);
  for (const [index, { isGone, ...key }] of posted.entries()) {
    const path = { project: scope().project, ...key };
    const versions: object[] = [];
    for (const version of await life.versions(path)) {
      const { document } = await life.version(path, version.change);
      versions.push({
        ...version,
        ...(whole({ ...version }, ShiftVersion) as object),
        document: whole(document, ShiftDocument),
      });
    }
    const current = isGone ? null : whole((await shifts.get(path)).document, ShiftDocument);
    await files.add(
      `shifts/${path.drive}/${path.date}-${path.shift}.json`,
      `${JSON.stringify({ ...path, removed: isGone, document: current, versions }, undefined, 1)}\n`,
      () => versions.length,
    );
    progress((index + 1) / posted.length);
  }
  return posted.length;
};
