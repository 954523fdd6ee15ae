import { readCsv, readDelimiter } from '../../../common/files/csv-table.js';
import { entryOf, fieldsOf } from '../../../common/files/sheet-headings.js';
import { job } from '../../../common/work/job.js';
import type { ProbeHoleInput } from './probe-hole.model.js';

const MOST_ROWS = 1000;

/** Columns of a sheet by their headings, with the fields that they give. */
const FIELDS: Record<string, 'name' | Exclude<keyof ProbeHoleInput, 'log'>> = {
  name: 'name',
  collar: 'collar',
  face: 'face',
  position_deg: 'positionDeg',
  look_out_deg: 'lookOutDeg',
  look_out_azimuth_deg: 'lookOutAzimuthDeg',
  length_m: 'lengthM',
  planned_length_m: 'plannedLengthM',
  diameter_mm: 'diameterMm',
  method: 'method',
  state: 'state',
  water_inflow_l_per_min: 'waterInflowLPerMin',
  water_depth_m: 'waterDepthM',
  drilled_at: 'drilledAt',
  remark: 'remark',
};

const NEEDED = ['name', 'collar', 'look_out_deg', 'length_m'];

export type SheetHole = Partial<Record<'name' | keyof ProbeHoleInput, string>>;

export interface HoleSheet {
  rows: { line: number; hole: SheetHole; columns: number }[];
  /** number of headings */
  columns: number;
}

/** Reads a sheet of probe holes from CSV. @throws ProblemError invalid for a file or headings that cannot be read */
export const readHoleSheet = ({ file, delimiter }: { file: Uint8Array; delimiter?: string }): HoleSheet => {
  const bytes = Buffer.from(file.buffer, file.byteOffset, file.byteLength);
  const table = { mostRows: MOST_ROWS, rows: 'probe holes' };
  const { headings, rows } = readCsv(bytes, readDelimiter(delimiter), table);
  const fields = fieldsOf(headings, FIELDS, NEEDED);
  return {
    columns: headings.length,
    rows: rows.map(({ cells, line }) => ({
      line,
      columns: cells.length,
      hole: entryOf(fields, cells),
    })),
  };
};

/** The same in another thread. */
export const READ_HOLES = job(import.meta.url, readHoleSheet);
