import { createHash } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import type pg from 'pg';
import { copyToParquet, parquetColumns } from '../../../common/files/parquet/copy-to-parquet.js';
import { claimLake, LakeFolder } from './lake-folder.js';
import { pathOf, SAMPLES, samplesOf } from './lake-tables.js';

/** The samples of a month in a lake. */
export interface SamplesInLake {
  rows: number;
  /** Digest of the list of files, one line each with SHA-256 and path, as printed by `sha256sum`. */
  sha256: string;
}

const DRIVES = (relation: string): string => `select d.id, d.code as drive, p.code as project, m.rows
  from (select drive_id, count(*)::int as rows from ${relation} group by 1) m join drive d on d.id = m.drive_id join project p on p.id = d.project_id
  order by p.code collate "C", d.code collate "C"`;

/**
 * Verifies that a lake has every sample of a month: each drive's Parquet file is written again from the table, and compared with
 * that of the lake byte by byte.
 * @param month  such as 2027-03
 * @param relation  the table of the month
 * @throws Error naming a file that is missing or differs
 */
export const samplesInLake = async (
  client: pg.Client,
  root: string,
  month: string,
  relation: string,
): Promise<SamplesInLake> => {
  const lake = await LakeFolder.existing(root);
  await claimLake(client, lake);
  const manifest = await lake.completeManifest();
  const columns = await parquetColumns(client, SAMPLES.relation, SAMPLES.decimals);
  const { rows: drives } = await client.query<{ id: number; drive: string; project: string }>(
    DRIVES(relation),
  );
  const scratch = await mkdtemp(path.join(tmpdir(), 'drivebook-samples-'));
  const list = createHash('sha256');
  let count = 0;
  try {
    for (const { id, project, drive } of drives) {
      const place = pathOf(SAMPLES, { project, drive, month });
      const file = manifest.files.find((each) => each.path === place);
      if (!file) throw new Error(`${root} has no ${place}: export the lake again.`);
      const written = path.join(scratch, `${id}.parquet`);
      const { rows, sha256 } = await copyToParquet(
        client,
        { columns, from: samplesOf(relation, id) },
        written,
      );
      await rm(written);
      if (sha256 !== file.sha256 || !(await lake.has(file, true)))
        throw new Error(`${place} does not hold the samples of the record: export the lake again.`);
      list.update(`${sha256}  ${place}\n`);
      count += rows;
    }
  } finally {
    await rm(scratch, { recursive: true, force: true });
  }
  return { rows: count, sha256: list.digest('hex') };
};
