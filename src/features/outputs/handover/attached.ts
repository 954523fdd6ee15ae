import { createReadStream, existsSync } from 'node:fs';
import { ProblemError } from '../../../common/api/problem.js';
import { filePath } from '../../../common/files/file-places.js';
import { csvOfRows, type FactColumn } from './facts.js';
import type { PackageFiles } from './package-files.js';
import type { Part } from './part.js';
import type { Row, Snapshot } from './snapshot.js';

const COLUMNS: FactColumn[] = [
  { name: 'digest', type: 'text', text: 'SHA-256 of the file' },
  { name: 'file', type: 'text', text: 'name in this folder' },
  { name: 'drive', type: 'text', text: 'code of the drive' },
  { name: 'number', type: 'integer', text: 'number in the drive' },
  { name: 'file_name', type: 'text', text: 'name under which it was uploaded' },
  { name: 'media_type', type: 'text', text: 'kind of the content' },
  { name: 'size_bytes', type: 'bigint', text: 'length' },
  { name: 'caption', type: 'text', text: 'caption' },
  { name: 'taken_at', type: 'timestamp with time zone', text: 'when it was taken' },
  { name: 'uploaded_by', type: 'text', text: 'who uploaded it' },
  { name: 'uploaded_at', type: 'timestamp with time zone', text: 'when it was uploaded' },
  { name: 'from_chainage_m', type: 'numeric', text: 'chainage of its near end' },
  { name: 'to_chainage_m', type: 'numeric', text: 'chainage of its far end' },
  { name: 'shift_date', type: 'date', text: 'date of its shift' },
  { name: 'shift_name', type: 'text', text: 'name of its shift' },
  { name: 'subject_kind', type: 'text', text: 'kind of what it shows' },
  { name: 'subject_name', type: 'text', text: 'name of what it shows' },
  { name: 'removed', type: 'boolean', text: 'whether it was taken from the record' },
];

/** The last version of each attachment, including removed ones. */
const INDEX = `select digest, digest || coalesce(lower(substring(file_name from '\\.[A-Za-z0-9]{1,5}$')), ''), code, number::text, file_name, media_type, size_bytes::text, caption,
    to_char(taken_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"'), uploaded_by, to_char(uploaded_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"'),
    report.chainage_of_driven(start_chainage_m, direction, from_m)::text, report.chainage_of_driven(start_chainage_m, direction, to_m)::text, shift_date::text, shift_name, subject_kind::text, subject_name,
    (to_change < 9223372036854775807)::text
  from (select distinct on (f.drive_id, f.digest) f.*, d.code, d.start_chainage_m, d.direction from history.attached_file f join drive d on d.id = f.drive_id
    order by f.drive_id, f.digest, f.to_change desc) f`;

const quoted = (text: string): string => `'${text.replaceAll("'", "''")}'`;

/**
 * Writes the files of attachments, and their index. @param folder  of the attachments; undefined if unknown
 * @returns the number of files
 * @throws Error when a file is missing
 */
export const addAttachments = async (
  files: PackageFiles,
  snapshot: Snapshot,
  folder: string | undefined,
  { drive, progress }: Part,
): Promise<number> => {
  const places = new Map<string, string>();
  const select = drive === undefined ? INDEX : `${INDEX} where code = ${quoted(drive)}`;
  let rows = 0;
  async function* noted(): AsyncGenerator<Row[], void> {
    for await (const some of snapshot.rows(`${select} order by f.code, f.number`)) {
      for (const [digest, file] of some) if (digest && file && !places.has(digest)) places.set(digest, file);
      yield some;
    }
  }
  await files.add(
    'attachments/index.csv',
    csvOfRows(COLUMNS, noted(), (count) => (rows += count)),
    () => rows,
  );
  if (places.size > 0 && folder === undefined)
    throw new ProblemError(
      'conflict',
      'ATTACHMENTS_DIR is not set: the folder of the attachments is not known.',
    );
  let done = 0;
  for (const [digest, name] of places) {
    const file = filePath(folder ?? '', snapshot.projectId, digest);
    if (!existsSync(file))
      throw new ProblemError(
        'conflict',
        `The file of attachment ${digest} is missing: see "drivebook attachments verify".`,
      );
    const { sha256 } = await files.add(
      `attachments/${name}`,
      createReadStream(file) as AsyncIterable<Buffer>,
    );
    if (sha256 !== digest)
      throw new ProblemError(
        'conflict',
        `The file of attachment ${digest} is not the one that was uploaded: see "drivebook attachments verify".`,
      );
    done += 1;
    progress(done / places.size);
  }
  return places.size;
};
