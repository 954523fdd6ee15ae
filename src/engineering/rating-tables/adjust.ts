import type { AdjustmentForm, RatingAdjustment, RatingTable } from './tables.js';

/** An adjustment named in a log, with the figures that its form requires and the reason for it. */
export interface Adjustment {
  name: string;
  /** reduction [%] */
  percent?: number | null;
  /** value instead of that of the row [-] */
  value?: number | null;
  /** σ1/σ3 [-] */
  stressRatio?: number | null;
  /** σc/σ1 with the unreduced strength [-] */
  strengthRatio?: number | null;
  note: string;
}

const FIGURES = ['percent', 'value', 'stressRatio', 'strengthRatio'] as const;
type AdjustmentFigure = (typeof FIGURES)[number];

/** The effective value, or why the adjustment does not fit and which part of it is wrong. */
export type Adjusted = { counted: number } | { at: 'name' | AdjustmentFigure; fault: string };

const NEEDS: Record<AdjustmentForm['by'], readonly AdjustmentFigure[]> = {
  percent: ['percent'],
  value: ['value'],
  fixed: [],
  stress: ['stressRatio', 'strengthRatio'],
};

/** From this ratio on, a measured stress field counts as strongly anisotropic, and above the second as very strongly. */
const ANISOTROPIC = 5;
const VERY_ANISOTROPIC = 10;

/** Rounding, so that products of few digits have few digits. */
const DIGITS = 12;
const tidy = (value: number): number => Number(value.toPrecision(DIGITS));

interface Chosen {
  table: RatingTable;
  row: string;
  value: number;
}

const byStress = ({ table, row, value }: Chosen, stressRatio: number, strengthRatio: number): Adjusted => {
  if (stressRatio < ANISOTROPIC)
    return {
      at: 'stressRatio',
      fault: `σ1/σ3 of ${stressRatio} is below ${ANISOTROPIC}: the strength is not reduced`,
    };
  const times = stressRatio > VERY_ANISOTROPIC ? 0.5 : 0.75;
  const reduced = tidy(times * strengthRatio);
  const of = (name: string) => table.rows.find((candidate) => candidate.row === name);
  const holds = ({ strengthRatioMin: min = Infinity, strengthRatioMax: max = Infinity }) =>
    reduced >= min && reduced <= max;
  const found = of(row);
  if (found && holds(found)) return { counted: value };
  const right = table.rows.filter((candidate) => holds(candidate)).map((candidate) => candidate.row);
  return {
    at: 'strengthRatio',
    fault: `σc/σ1 of ${strengthRatio} counts as ${times} · ${strengthRatio} = ${reduced}: that is row ${right.join(' or ')}, not ${row}`,
  };
};

const byForm = (rule: RatingAdjustment, choice: Chosen, given: Adjustment): Adjusted => {
  const { form, name } = rule;
  if (form.by === 'fixed') return { counted: form.value };
  if (form.by === 'stress') return byStress(choice, given.stressRatio ?? 0, given.strengthRatio ?? 0);
  const figure = given[form.by] ?? 0;
  if (figure < form.min || figure > form.max)
    return { at: form.by, fault: `${form.by} ${figure} of ${name} must lie from ${form.min} to ${form.max}` };
  if (form.by === 'percent') return { counted: tidy(choice.value * (1 - figure / 100)) };
  if (figure <= choice.value)
    return {
      at: 'value',
      fault: `value ${figure} of ${name} does not raise ${choice.table.id}, which is ${choice.value} in row ${choice.row}`,
    };
  return { counted: figure };
};

/**
 * The effective value of a chosen row with the adjustment named in the log. [-]
 * @param table   with the adjustments of its edition
 * @param row     that was chosen
 * @param value   of the row [-]
 * @param given   what the log names
 * Source: notes of the published tables, each with its mark. An adjustment applies only if the log names it.
 */
export const adjusted = (table: RatingTable, row: string, value: number, given: Adjustment): Adjusted => {
  const { adjustments = [] } = table;
  const rule = adjustments.find(({ name }) => name === given.name);
  if (!rule) {
    const known = adjustments.map(({ name }) => name).join(', ');
    return {
      at: 'name',
      fault: `${table.id} has no adjustment ${given.name}: there ${known ? `are ${known}` : 'is none'}`,
    };
  }
  if (!rule.rows.includes(row))
    return {
      at: 'name',
      fault: `${rule.name} is for row ${rule.rows.join(', ')} of ${table.id}, not ${row}`,
    };
  const needs = NEEDS[rule.form.by];
  for (const figure of FIGURES) {
    const isGiven = given[figure] != null;
    if (needs.includes(figure) === isGiven) continue;
    const fault = isGiven ? `${rule.name} takes no ${figure}` : `${figure} is missing: ${rule.name} needs it`;
    return { at: figure, fault };
  }
  return byForm(rule, { table, row, value }, given);
};
