import { LakeFolder } from './lake-folder.js';
import { MANIFEST } from './manifest.js';

/** The result of verifying a lake. */
export interface LakeCheck {
  files: number;
  rows: number;
  /** One sentence per faulty file. */
  faults: string[];
}

/**
 * Compares the files of a lake with its manifest, byte by byte; needs no database.
 * @throws Error when the folder has no manifest
 */
export const verifyLake = async (root: string): Promise<LakeCheck> => {
  const folder = await LakeFolder.existing(root);
  const manifest = await folder.manifest();
  if (!manifest)
    throw new Error(`${root} has no ${MANIFEST}: it is not a lake, or its first export has not ended.`);
  const faults: string[] = [];
  if (folder.wasCutShort)
    faults.push('An export is running, or was cut short: run "drivebook lake export" again, then verify.');
  const others = new Set(await folder.files());
  for (const file of manifest.files) {
    if (!others.delete(file.path)) faults.push(`${file.path} is missing.`);
    else if (!(await folder.has(file, true))) faults.push(`${file.path} differs from its digest.`);
  }
  for (const other of others) faults.push(`${other} is not in the manifest.`);
  return {
    files: manifest.files.length,
    rows: manifest.files.reduce((sum, { rows }) => sum + rows, 0),
    faults,
  };
};
