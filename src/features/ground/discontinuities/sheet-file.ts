import { faulty } from '../../../common/api/problem.js';
import { readCsv, readDelimiter } from '../../../common/files/csv-table.js';
import { atLine, entryOf, fieldsOf } from '../../../common/files/sheet-headings.js';
import { job } from '../../../common/work/job.js';
import { type Packed, packed } from '../../../common/work/packed.js';
import type { NamedDiscontinuityInput } from './discontinuity.models.js';

const MOST_ROWS = 1000;

/** Columns of a sheet by their headings, with the fields that they give. */
const FIELDS: Record<string, keyof NamedDiscontinuityInput> = {
  name: 'name',
  chainage: 'chainage',
  type: 'type',
  dip_deg: 'dipDeg',
  dip_direction_deg: 'dipDirectionDeg',
  set: 'set',
  spacing_m: 'spacingM',
  persistence_m: 'persistenceM',
  aperture_mm: 'apertureMm',
  roughness: 'roughness',
  infilling: 'infilling',
  infilling_material: 'infillingMaterial',
  weathering: 'weathering',
  seepage: 'seepage',
  position_deg: 'positionDeg',
  remark: 'remark',
  mapped_by: 'mappedBy',
  mapped_at: 'mappedAt',
};

const NEEDED = ['name', 'chainage', 'type', 'dip_deg', 'dip_direction_deg'];

/** A sheet as it was sent. */
export interface SheetFile {
  file: Uint8Array;
  delimiter?: string;
}

type Entry = Partial<Record<keyof NamedDiscontinuityInput, string>>;

interface SheetTable {
  /** line of the file on which each entry begins */
  lines: number[];
  entries: Packed<Entry>;
}

/** Reads a sheet from CSV. */
export const readSheetFile = ({ file, delimiter }: SheetFile): SheetTable => {
  const bytes = Buffer.from(file.buffer, file.byteOffset, file.byteLength);
  const { headings, rows } = readCsv(bytes, readDelimiter(delimiter), {
    mostRows: MOST_ROWS,
    rows: 'discontinuities',
  });
  const fields = fieldsOf(headings, FIELDS, NEEDED);
  const ragged = rows.flatMap(({ cells, line }, index) => {
    if (cells.length === headings.length) return [];
    const detail = `the row has ${cells.length} columns; there are ${headings.length} headings`;
    return [atLine({ in: 'body', pointer: '', detail }, index, '', line)];
  });
  if (ragged.length > 0) throw faulty('invalid', ragged);
  const entries = rows.map(({ cells }): Entry => entryOf(fields, cells));
  return { lines: rows.map(({ line }) => line), entries: packed(entries) };
};

/** The same in another thread. */
export const READ_SHEET = job(import.meta.url, readSheetFile);
