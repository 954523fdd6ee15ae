import { metresText } from '../../../engineering/chainage.js';
import type { BoringValues } from '../../../engineering/stroke-values.js';
import type { ImportRow, StrokeValues } from './import-rows.js';
import type { DatedMachine } from './read-context.js';
import { valuesOf } from '../stroke-values/values-of.js';

type ValuedStroke = StrokeValues & BoringValues;

/** Strokes per statement: a single message with all of them would block the event loop. */
const STATEMENT_ROWS = 10_000;

const instant = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());

const rowOf = (stroke: ValuedStroke): object => ({
  ...stroke,
  strokeNumber: stroke.number,
  fromM: metresText(stroke.fromMm),
  toM: metresText(stroke.toMm),
  startedAt: instant(stroke.startedAt),
  endedAt: instant(stroke.endedAt),
});

/** The data in force when a stroke began; without a time, those from the beginning, as in report.bored_on. */
const inForce = (machines: DatedMachine[], startedAt: number | null): DatedMachine | null =>
  machines.findLast(({ validFrom }) => (validFrom ?? -Infinity) <= (startedAt ?? -Infinity)) ?? null;

/** The strokes to create with their computed values, as JSON for the insert statements. */
export const valuedStrokes = (rows: ImportRow[], machines: DatedMachine[]): string[] => {
  const created = rows.flatMap(({ stroke, outcome, faults }) =>
    stroke && outcome !== 'unchanged' && faults.length === 0
      ? [rowOf({ ...stroke, ...valuesOf(stroke, inForce(machines, stroke.startedAt)) })]
      : [],
  );
  const parts: string[] = [];
  for (let from = 0; from < created.length; from += STATEMENT_ROWS)
    parts.push(JSON.stringify(created.slice(from, from + STATEMENT_ROWS)));
  return parts;
};
