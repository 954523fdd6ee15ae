import { mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import type { Spread } from './compare.js';
import type { Comparison } from './comparisons.js';
import type { Plan } from './plans.js';
import type { Loaded } from './setting.js';
import type { Statements } from './statements.js';

export interface Results {
  date: string;
  command: string;
  node: string;
  postgres: string;
  durability: string;
  cpus: number;
  seconds: number;
  loaded: Loaded;
  comparisons: Comparison[];
  statements: Statements;
  plans: Plan[];
}

const figure = ({ median, lower, upper }: Spread, digits: number): string =>
  `${median.toFixed(digits)} (${lower.toFixed(digits)} to ${upper.toFixed(digits)})`;

const goal = ({ target }: Comparison): string =>
  'least' in target ? `≥ ${target.least}` : `≤ ${target.most}`;

export const isMet = ({ target, ratio }: Comparison): boolean =>
  'least' in target ? ratio.median >= target.least : ratio.median <= target.most;

const table = (head: string[], rows: string[][]): string => {
  const line = (cells: string[]): string => `| ${cells.join(' | ')} |`;
  return [line(head), line(head.map(() => '---')), ...rows.map(line)].join('\n');
};

const ratios = (comparisons: Comparison[]): string =>
  table(
    ['what', 'ratio', 'measured', 'control', 'target', 'met'],
    comparisons.map((c) => [
      c.what,
      c.measure,
      figure(c.ratio, 2),
      c.control ? figure(c.control, 2) : '',
      goal(c),
      isMet(c) ? 'yes' : 'no',
    ]),
  );

const times = (comparisons: Comparison[]): string =>
  table(
    ['what', 'variant', 'ms'],
    comparisons.flatMap((c) =>
      Object.entries(c.milliseconds).map(([name, ms]) => [c.what, name, figure(ms, 1)]),
    ),
  );

const notes = (comparisons: Comparison[]): string =>
  comparisons.flatMap(({ notes: own = [] }) => own.map((note) => `${note}\n`)).join('');

/** The results of some parts, without those of a complete run. */
export const summary = (comparisons: Comparison[]): string =>
  [ratios(comparisons), times(comparisons), notes(comparisons)].join('\n\n');

export const markdown = (results: Results): string => {
  const { loaded, comparisons, statements, plans } = results;
  const perThousand = (loaded.seconds / loaded.borings) * 1000;
  return `# Measurements

${results.date}, \`${results.command}\`, Node ${results.node}, PostgreSQL ${results.postgres}, ${results.cpus} CPUs, ${Math.round(results.seconds)} s.
${results.durability}. Ratios are medians over interleaved rounds, with quartiles. The control is the
reference against a second instance of itself: what it differs from 1 is noise.

${ratios(comparisons)}

Milliseconds a request, one client, one connection:

${times(comparisons)}

${notes(comparisons)}
Loading ${loaded.borings} borings with their shifts, activities, support and ground, all constraints and triggers on, 100 shifts
a transaction: ${loaded.seconds.toFixed(1)} s, ${perThousand.toFixed(2)} s per 1,000 borings. A neighbour drive, copied without
triggers, shares the tables: ${loaded.copySeconds.toFixed(1)} s.

SQL statements a request, transaction control included:

${table(
  ['request', 'statements'],
  Object.entries(statements).map(([what, sent]) => [what, String(sent.length)]),
)}

In PostgreSQL by EXPLAIN (ANALYZE), large drive of ${loaded.supportLines} support lines; the plans stand in plans.txt:

${table(
  ['query', 'ms', 'ms of processor', 'blocks', 'temporary blocks'],
  plans.map(({ what, milliseconds, cpuMilliseconds, blocks, temporaryBlocks }) => [
    what,
    Number.isNaN(milliseconds) ? 'over 30 s' : milliseconds.toFixed(1),
    cpuMilliseconds === undefined ? '' : cpuMilliseconds.toFixed(0),
    String(blocks),
    String(temporaryBlocks),
  ]),
)}
`;
};

/** Writes results.json, results.md and plans.txt. */
export const writeResults = (folder: string, results: Results): void => {
  mkdirSync(folder, { recursive: true });
  const { plans, ...figures } = results;
  const times = plans.map(({ text: _, ...plan }) => plan);
  const write = (name: string, text: string): void => writeFileSync(path.join(folder, name), text);
  write('results.json', `${JSON.stringify({ ...figures, plans: times }, null, 2)}\n`);
  write('results.md', markdown(results));
  write('plans.txt', plans.map(({ what, text }) => `== ${what}\n\n${text}\n`).join('\n'));
};
