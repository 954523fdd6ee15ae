import type { ProblemCode } from '../../../common/api/problem.js';
import type { GivenTable, TakenRow, TakenTable } from '../../../common/imports/together.js';
import { job } from '../../../common/work/job.js';
import { metresText } from '../../../engineering/chainage.js';
import { type ImportPlan, planImport } from './import-plan.js';
import { type ImportRow, placeWords, readRowsOf } from './import-rows.js';
import { type ImportContext, readContext } from './read-context.js';
import { valuedStrokes } from './valued-strokes.js';

// The part of an import outside the database: it grows with the table, so it runs in another thread. Threads exchange text, which
// costs almost nothing whatever its length.

/** The input for planning an import. */
export interface PlanInput {
  /** a GivenTable as JSON */
  table: string;
  /** as returned by lockedContextText */
  context: string;
  closeGapsMm: number;
  replace: boolean;
  /** valid rows are written even if others are rejected */
  validRows: boolean;
}

export interface Planned {
  /** a TakenTable as JSON */
  taken: string;
  /** whether nothing is to be written */
  isRefused: boolean;
  /** ids of borings to remove */
  leaving: number[];
  /** for storeImport */
  strokes: string[];
}

type Rules = Pick<PlanInput, 'closeGapsMm' | 'replace'>;

const planned = (table: GivenTable, context: ImportContext, rules: Rules): ImportPlan => {
  const words = placeWords(table.fields, context);
  return planImport(readRowsOf(table, context.frame, words), context, rules, words);
};

/**
 * The plan for the valid rows. Once rejected rows are left out, others may conflict with existing strokes or have a gap that is not
 * closed, so they are validated again until none is rejected.
 */
const plannedSound = (table: GivenTable, context: ImportContext, rules: Rules): ImportPlan => {
  const rejected = new Map<number, ImportRow>();
  for (;;) {
    const places = table.rows.map((_, place) => place).filter((place) => !rejected.has(place));
    const rows = places.flatMap((place) => table.rows[place] ?? []);
    const plan = planned({ ...table, rows }, context, rules);
    const faulty = plan.rows.flatMap((row, index) =>
      row.faults.length > 0 ? [[places[index] ?? -1, row] as const] : [],
    );
    for (const [place, row] of faulty) rejected.set(place, row);
    if (faulty.length > 0) continue;
    const sound = new Map(places.map((place, index) => [place, plan.rows[index]]));
    return { ...plan, rows: table.rows.flatMap((_, place) => rejected.get(place) ?? sound.get(place) ?? []) };
  }
};

/** Validates a table against the drive's current state. */
export const planStrokes = ({
  table: text,
  context: contextText,
  validRows,
  ...rules
}: PlanInput): Planned => {
  const table = JSON.parse(text) as GivenTable;
  const context = readContext(contextText);
  const plan = (validRows ? plannedSound : planned)(table, context, rules);
  const isRefused = !validRows && plan.rows.some(({ faults }) => faults.length > 0);
  return {
    taken: JSON.stringify(takenOf(plan, isRefused)),
    isRefused,
    leaving: plan.leaving.map(({ id }) => id),
    strokes: isRefused ? [] : valuedStrokes(plan.rows, context.machines),
  };
};

export const PLAN = job(import.meta.url, planStrokes);

/** Conflict if every fault is a conflict with existing strokes. */
const codeOf = (rows: ImportRow[]): ProblemCode =>
  rows.some(({ faults }) => faults.some(({ conflict }) => !conflict)) ? 'invalid' : 'conflict';

const takenRow = ({ number, outcome, faults, changes, notes }: ImportRow): TakenRow => ({
  key: number === null ? undefined : String(number),
  outcome: faults.length > 0 ? 'rejected' : outcome,
  faults: faults.map(({ field, value, detail }) => ({ field, value, detail })),
  changes,
  notes,
});

const takenOf = ({ rows, leaving }: ImportPlan, isRefused: boolean): TakenTable => {
  let takenMm = 0;
  for (const { stroke, faults } of rows)
    if (stroke && faults.length === 0) takenMm += stroke.toMm - stroke.fromMm;
  const replaced = new Set(rows.flatMap(({ number, outcome }) => (outcome === 'updated' ? [number] : [])));
  return {
    rows: rows.map(takenRow),
    removed: isRefused ? 0 : leaving.filter(({ number }) => !replaced.has(number)).length,
    code: codeOf(rows),
    lengthM: metresText(takenMm),
  };
};
