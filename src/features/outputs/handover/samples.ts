import { createReadStream } from 'node:fs';
import path from 'node:path';
import { type ParquetColumn, sqlType } from '../../../common/files/parquet/types.js';
import { copyToParquet, parquetColumns } from '../../../common/files/parquet/copy-to-parquet.js';
import { LakeFolder } from '../lake/lake-folder.js';
import { SAMPLES } from '../lake/lake-tables.js';
import { MANIFEST, type LakeFile } from '../lake/manifest.js';
import type { PackageFiles } from './package-files.js';
import type { Part } from './part.js';
import type { Snapshot } from './snapshot.js';

/** The machine samples of a package. */
export interface PackedSamples {
  files: number;
  /** Months, such as 2027-03, whose samples are neither in the record nor, from a lake, in the package. */
  missing: string[];
}

interface DriveMonth {
  id: number;
  drive: string;
  month: string;
}

/** The months of each drive that has samples in the record, using only its index of moments. */
const MONTHS = `select d.id, d.code as drive, to_char(m.first, 'YYYY-MM') as month
  from drive d
  cross join lateral (select min(at) as first, max(at) as last from machine_sample s where s.drive_id = d.id) of
  cross join lateral generate_series(date_trunc('month', of.first at time zone 'UTC'), of.last at time zone 'UTC', interval '1 month') m(first)
  where ($1::text is null or d.code = $1)
    and exists (select from machine_sample s where s.drive_id = d.id and s.at >= m.first at time zone 'UTC' and s.at < (m.first + interval '1 month') at time zone 'UTC')
  order by d.code collate "C", m.first`;

const RETIRED = `select to_char(month, 'YYYY-MM') as month from public.retired_sample_months('-infinity', 'infinity') as month order by 1`;

const placeOf = (drive: string, month: string): string => `samples/${drive}/${month}.parquet`;

const samplesOf = ({ id, month }: DriveMonth): string =>
  `${SAMPLES.relation} where drive_id = ${id} and at >= timestamptz '${month}-01Z' and at < (timestamp '${month}-01' + interval '1 month') at time zone 'UTC' order by at`;

const dictionary = (columns: ParquetColumn[]): string =>
  [
    '# Machine samples',
    '',
    'Each file `DRIVE/MONTH.parquet` has the raw machine data of a drive in a month (UTC), one row per moment, in the order of time. Units stand in brackets.',
    '',
    '| column | type | meaning |',
    '| --- | --- | --- |',
    ...columns.map(({ name, type, description }) => `| ${name} | ${sqlType(type)} | ${description} |`),
    '',
  ].join('\n');

/** Files of the lake with samples of these months, of any project. @throws Error when it is not a complete lake */
const filesOfMonths = async (lake: LakeFolder, months: ReadonlySet<string>): Promise<LakeFile[]> => {
  const manifest = await lake.completeManifest();
  return manifest.files.filter(({ table, month }) => table === SAMPLES.name && months.has(month ?? ''));
};

/**
 * The machine samples of each drive by month, as Parquet: those in the record and, from a lake, those of months taken out of it.
 * @param scratch  a folder for one file at a time
 * @throws Error that names the file of the lake that is missing or differs from its manifest
 */
export const addSamples = async (
  files: PackageFiles,
  snapshot: Snapshot,
  {
    project,
    drive,
    lake: root,
    scratch,
    progress,
  }: Part & { project: string; lake?: string; scratch: string },
): Promise<PackedSamples> => {
  const { session } = snapshot;
  const columns = await parquetColumns(session, SAMPLES.relation, SAMPLES.decimals);
  const inRecord = await snapshot.query<DriveMonth>(MONTHS, [drive ?? null]);
  const retired = await snapshot.query<{ month: string }>(RETIRED);
  const missing = new Set(retired.map(({ month }) => month));
  const lake = root === undefined ? undefined : await LakeFolder.existing(root);
  const inLake = lake ? await filesOfMonths(lake, missing) : [];
  for (const { month } of inLake) missing.delete(month as string);
  const ofPackage = inLake.filter(
    (file) => file.project === project && (drive === undefined || file.drive === drive),
  );
  const count = inRecord.length + ofPackage.length;
  let done = 0;
  for (const month of inRecord) {
    const written = path.join(scratch, `${month.month}.parquet`);
    await copyToParquet(session, { columns, from: samplesOf(month) }, written);
    await files.move(placeOf(month.drive, month.month), written);
    progress((done += 1) / count);
  }
  for (const file of ofPackage) {
    const { sha256 } = await files.add(
      placeOf(file.drive as string, file.month as string),
      createReadStream((lake as LakeFolder).full(file.path)) as AsyncIterable<Buffer>,
    );
    if (sha256 !== file.sha256)
      throw new Error(
        `${file.path} in ${(lake as LakeFolder).root} is not what its ${MANIFEST} says: put it back from a copy of the lake.`,
      );
    progress((done += 1) / count);
  }
  if (count > 0) await files.add('samples/dictionary.md', dictionary(columns));
  return { files: count, missing: [...missing] };
};
