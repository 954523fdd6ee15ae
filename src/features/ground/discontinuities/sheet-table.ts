import { InputPipe } from '../../../common/api/input.pipe.js';
import { faulty, ProblemError } from '../../../common/api/problem.js';
import { atLine } from '../../../common/files/sheet-headings.js';
import { unpacked } from '../../../common/work/packed.js';
import type { Workers } from '../../../common/work/workers.js';
import { DiscontinuitySheetInput, type NamedDiscontinuityInput } from './discontinuity.models.js';
import { READ_SHEET, type SheetFile } from './sheet-file.js';

/** Names the line of the file beside each fault of a row. */
const withLines = (error: unknown, lines: number[]): unknown => {
  if (!(error instanceof ProblemError)) return error;
  const faults = error.faults.map((fault) => {
    const [, index, field = ''] = /^\/(?:discontinuities|rows)\/(\d+)(\/.*)?$/.exec(fault.pointer) ?? [];
    const line = lines[Number(index)];
    return line === undefined ? fault : atLine(fault, Number(index), field, line);
  });
  return faults.length === 1
    ? faulty(error.code, faults)
    : new ProblemError(error.code, error.message, faults);
};

/**
 * Reads a sheet in another thread and does the work with its entries.
 * @throws ProblemError for what cannot be read, and for what the work refuses, with the lines of the file
 */
export const withSheetTable = async <T>(
  workers: Workers,
  sheetFile: SheetFile,
  work: (entries: NamedDiscontinuityInput[]) => Promise<T>,
): Promise<T> => {
  const { lines, entries } = await workers.run(READ_SHEET, sheetFile);
  const discontinuities = await unpacked(entries);
  try {
    const sheet = (await new InputPipe().transform(
      { discontinuities },
      { type: 'body', metatype: DiscontinuitySheetInput },
    )) as DiscontinuitySheetInput;
    return await work(sheet.discontinuities);
  } catch (error) {
    throw withLines(error, lines);
  }
};
