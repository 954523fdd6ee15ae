import { type Fault, firstOf, MOST_FAULTS, type ProblemCode } from '../../../common/api/problem.js';
import { canonicalRows, type DeclaredForms } from '../../../common/files/table/canonical.js';
import type { TableForms } from '../../../common/files/table/forms.js';
import { readTable, type TableFile } from '../../../common/files/table/read-table.js';
import { job } from '../../../common/work/job.js';
import { metresText } from '../../../engineering/chainage.js';
import { placeColumns, readMap, typeOfField } from './import-map.js';
import { type ImportPlan, planImport } from './import-plan.js';
import type { StrokeImportReport } from './import-report.model.js';
import { type ImportRow, placeWords, readRowsOf, type StrokeTable } from './import-rows.js';
import { STROKE_TABLE } from './import-table.js';
import { readContext } from './read-context.js';
import { RowOutcome } from './row-outcome.js';
import { valuedStrokes } from './valued-strokes.js';

// What an import does beside the database: in another thread, as it grows with the table. What goes from one thread to
// another is text, which takes next to no time, however long.

/** A table as it was sent. */
export interface StrokeFile extends TableFile, DeclaredForms {
  map: string;
}

/**
 * Reads a table as far as its columns are mapped. @returns a StrokeTable as JSON
 * @throws ProblemError for a map or a file that cannot be read
 */
export const readStrokes = ({ map, ...sent }: StrokeFile): string => {
  const fields = readMap(map);
  const { headings, rows: asWritten, forms: found } = readTable(sent, STROKE_TABLE);
  const places = [...placeColumns(fields, headings)];
  const columns = places.map(([name, { index }]) => ({ name, type: typeOfField(name), place: index }));
  const { rows, forms } = canonicalRows(asWritten, columns, sent, found);
  const table: StrokeTable = {
    headings: headings.length,
    columns: places.map(([field, { factor }], index) => [field, { index, factor }]),
    rows: rows.map(({ line, width, cells }) => ({
      line,
      width,
      cells: cells.map(({ text }) => text),
      broken: cells.some(({ fault }) => fault !== undefined)
        ? cells.map(({ fault }) => fault ?? null)
        : undefined,
    })),
    forms,
  };
  return JSON.stringify(table);
};

export const READ = job(import.meta.url, readStrokes);

/** What a table is judged by. */
export interface PlanInput {
  /** as readStrokes gives it */
  table: string;
  /** as lockedContextText gives it */
  context: string;
  closeGapsMm: number;
  replace: boolean;
  dryRun: boolean;
}

export interface Planned {
  /** a StrokeImportReport as JSON */
  report: string;
  /** why the table is refused; undefined: it is not */
  refusal?: { code: ProblemCode; detail: string; faults: Fault[] };
  /** ids of borings */
  leaving: number[];
  /** for storeImport */
  strokes: string[];
}

/** Judges a table by the drive as it stands. */
export const planStrokes = ({ table: text, context: contextText, dryRun, ...rules }: PlanInput): Planned => {
  const table = JSON.parse(text) as StrokeTable;
  const context = readContext(contextText);
  const words = placeWords(new Map(table.columns), context.frame);
  const plan = planImport(readRowsOf(table, context.frame, words), context, rules, words);
  const report = reportOf(plan, dryRun, table.forms);
  const isRefused = report.rejected > 0;
  return {
    report: JSON.stringify(report),
    ...(isRefused ? { refusal: refusalOf(plan.rows, report.rejected) } : {}),
    leaving: plan.leaving.map(({ id }) => id),
    strokes: isRefused ? [] : valuedStrokes(plan.rows, context.machines),
  };
};

export const PLAN = job(import.meta.url, planStrokes);

const refusalOf = (rows: ImportRow[], rejected: number): Planned['refusal'] => {
  const faults = rows.flatMap((row, index) => row.faults.map((fault) => ({ ...fault, index })));
  const wrongInItself = faults.some(({ conflict }) => !conflict);
  return {
    code: wrongInItself ? 'invalid' : 'conflict',
    detail: `${rejected} of ${rows.length} rows rejected, nothing was written; see errors${firstOf(faults.length)}`,
    faults: faults.slice(0, MOST_FAULTS).map(({ index, field, value, detail }): Fault => ({
      in: 'body',
      pointer: `/rows/${index}${field === '' ? '' : `/${field}`}`,
      value,
      detail,
    })),
  };
};

const outcomeOf = ({ faults, outcome }: ImportRow): RowOutcome =>
  faults.length > 0 ? RowOutcome.rejected : RowOutcome[outcome];

const reportOf = (
  { rows, leaving }: ImportPlan,
  dryRun: boolean,
  read: TableForms,
): Omit<StrokeImportReport, 'doubted' | 'doubts'> => {
  const counts = { [RowOutcome.created]: 0, [RowOutcome.unchanged]: 0, [RowOutcome.rejected]: 0 };
  let takenMm = 0;
  const reported = rows.map((row) => {
    const outcome = outcomeOf(row);
    counts[outcome] += 1;
    if (row.stroke && outcome !== RowOutcome.rejected) takenMm += row.stroke.toMm - row.stroke.fromMm;
    const words = outcome === RowOutcome.rejected ? row.faults.map(({ detail }) => detail) : row.notes;
    return {
      line: row.line,
      number: row.number ?? undefined,
      outcome,
      detail: words.length > 0 ? words.join('; ') : undefined,
    };
  });
  return { dryRun, read, rows: reported, ...counts, removed: leaving.length, metres: metresText(takenMm) };
};
