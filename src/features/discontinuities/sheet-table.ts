import { InputPipe } from '../../common/api/input.pipe.js';
import { type Fault, faulty, ProblemError, shown } from '../../common/api/problem.js';
import { readCsv, readDelimiter, type TableRow } from '../../common/files/csv-table.js';
import { DiscontinuitySheetInput, type NamedDiscontinuityInput } from './discontinuity.models.js';

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

const atFile = (value: string, detail: string): Fault => ({
  in: 'body',
  pointer: '/file',
  value: shown(value),
  detail,
});

/** The field of each column. A heading of none is refused: what stands below it would be lost without a word. */
const fieldsOf = (headings: string[]): (keyof NamedDiscontinuityInput)[] => {
  const known = Object.keys(FIELDS).join(', ');
  const faults = [
    ...headings
      .filter((heading) => !Object.hasOwn(FIELDS, heading))
      .map((heading) => atFile(heading, `"${String(shown(heading))}" is no heading: there are ${known}`)),
    ...headings
      .filter((heading, place) => headings.indexOf(heading) < place)
      .map((heading) => atFile(heading, `the heading "${String(shown(heading))}" stands twice`)),
    ...NEEDED.filter((heading) => !headings.includes(heading)).map((heading) =>
      atFile(heading, `the table has no column "${heading}"`),
    ),
  ];
  if (faults.length > 0) throw faulty('invalid', faults);
  return headings.map((heading) => FIELDS[heading]);
};

/** Names the line of the file beside each fault of a row. */
const withLines = (error: unknown, rows: TableRow[]): unknown => {
  if (!(error instanceof ProblemError)) return error;
  const faults = error.faults.map((fault) => {
    const [, index, field = ''] = /^\/(?:discontinuities|rows)\/(\d+)(\/.*)?$/.exec(fault.pointer) ?? [];
    const line = rows[Number(index)]?.line;
    return line === undefined
      ? fault
      : { ...fault, pointer: `/rows/${index}${field}`, detail: `line ${line}: ${fault.detail}` };
  });
  return faults.length > 0 ? faulty(error.code, faults) : error;
};

/**
 * Reads a sheet from CSV and does the work with its entries.
 * @throws ProblemError for what cannot be read, and for what the work refuses, with the lines of the file
 */
export const withSheetTable = async <T>(
  file: Buffer,
  delimiter: string | undefined,
  work: (entries: NamedDiscontinuityInput[]) => Promise<T>,
): Promise<T> => {
  const { headings, rows } = readCsv(file, readDelimiter(delimiter), {
    mostRows: MOST_ROWS,
    rows: 'discontinuities',
  });
  const fields = fieldsOf(headings);
  try {
    const ragged = rows.flatMap(({ cells }, index): Fault[] =>
      cells.length === headings.length
        ? []
        : [
            {
              in: 'body',
              pointer: `/rows/${index}`,
              detail: `the row has ${cells.length} columns; there are ${headings.length} headings`,
            },
          ],
    );
    if (ragged.length > 0) throw faulty('invalid', ragged);
    const discontinuities = rows.map(({ cells }) =>
      Object.fromEntries(
        fields.map((field, place) => [field, cells[place].trim()]).filter(([, text]) => text !== ''),
      ),
    );
    const sheet = (await new InputPipe().transform(
      { discontinuities },
      { type: 'body', metatype: DiscontinuitySheetInput },
    )) as DiscontinuitySheetInput;
    return await work(sheet.discontinuities);
  } catch (error) {
    throw withLines(error, rows);
  }
};
