import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import ts from 'typescript';

// Figures over many records belong in views. Where SQL of the service uses an aggregate nevertheless, the reason is given here.

const SOURCES = path.join(import.meta.dirname, '../../src');

/** Aggregates that make one figure of many rows; combining rows into JSON or text does not count. */
const AGGREGATE = /\b(?:sum|avg|count|min|max|stddev\w*|percentile_\w+|bool_and|bool_or)\(/;

const REASONS: Record<string, string> = {
  'common/database/session.ts': 'rights of a login, by the catalogue of PostgreSQL',
  'common/files/parquet/copy-to-parquet.ts': 'digits of a column, which its type in the file takes',
  'features/ahead/probing/probe-requirements.service.ts':
    'whether a requirement is in force anywhere: its state, from the view that says where',
  'features/driving/doubts/read-doubts.ts': 'how many records there are beside the first that are listed',
  'features/driving/samples/proposals.service.ts': 'the next number',
  'features/driving/samples/sample-months.ts': 'rows of a table that is archived and dropped',
  'features/ground/baselines/baselines.service.ts': 'how many intervals one baseline was put with',
  'features/outputs/ags/ags-groups.ts': 'begin of a drive and collar of a hole, as the form asks for them',
  'features/outputs/attachments/attachment-quota.ts': 'bytes that files take',
  'features/outputs/attachments/attachment-upload.service.ts': 'the next number',
  'features/outputs/diagrams/bill-quantities.ts':
    'how many lines there are beside those that are drawn; the newest valuation',
  'features/outputs/diagrams/class-shares.ts':
    'total of the rows drawn, for the caption, of the one reading of the view; the first baseline',
  'features/outputs/diagrams/lost-time.ts':
    'total and number of the rows drawn, for the caption, of the one reading of the view; days on the axis',
  'features/outputs/diagrams/missing-support.ts':
    'total of the rows drawn, for the legend, of the one reading of the view',
  'features/outputs/diagrams/time-chainage.ts': 'the first baseline',
  'features/outputs/handover/papers.ts': 'months for which there are papers',
  'features/outputs/handover/record-copy.ts': 'the last number of a sequence',
  'features/outputs/handover/samples.ts': 'the months of which there are samples',
  'features/outputs/handover/shift-documents.ts': 'whether a shift was removed, and where it began first',
  'features/outputs/lake/export-lake.ts': 'number of the last change; rows that were written',
  'features/outputs/lake/samples-in-lake.ts': 'rows of a table that is compared and dropped',
  'features/outputs/odata/query-options.ts': '$count: rows of a view that a filter leaves',
  'features/outputs/strip/strip-readings.ts':
    'total and number of the rows beside those that are listed, of the one reading of the function',
  'features/payment/valuations/evidence.service.ts':
    'the next number; whether a record reduces its item, which refuses a dispute',
  'features/payment/valuations/out/account-sql.ts': 'how many records come before those of a page',
  'features/payment/valuations/valuation-sql.ts': 'number of the last change',
  'features/site/calendar/calendar.service.ts':
    'how many shifts forbid a change, for the message; day on which the next calendar begins',
  'features/site/drives/machines.service.ts': 'day of the last revision',
  'features/site/members/members.service.ts': 'the party of a member, the same in each of its rows',
  'features/support/support-standard/sections.service.ts': 'day on which the next version begins',
  'features/watch/alerts/alerts.service.ts': 'number of the last change',
  'features/watch/history/history.service.ts': 'number of the last change',
  'features/watch/live/live.service.ts': 'number of the last change',
};

const textsOf = (file: string): string[] => {
  const found: string[] = [];
  const code = readFileSync(file, 'utf8');
  if (!AGGREGATE.test(code)) return found;
  const source = ts.createSourceFile(file, code, ts.ScriptTarget.ES2022, true);
  const visit = (node: ts.Node): void => {
    if (
      ts.isStringLiteral(node) ||
      ts.isNoSubstitutionTemplateLiteral(node) ||
      ts.isTemplateHead(node) ||
      ts.isTemplateMiddle(node) ||
      ts.isTemplateTail(node)
    )
      found.push(node.text);
    ts.forEachChild(node, visit);
  };
  visit(source);
  return found;
};

it('no service computes a figure from rows without a reason', () => {
  const files = readdirSync(SOURCES, { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.tsx?$/.test(name))
    .map((name) => name.split(path.sep).join('/'))
    .filter((name) => textsOf(path.join(SOURCES, name)).some((text) => AGGREGATE.test(text)))
    .sort();
  expect(files).toEqual(Object.keys(REASONS).sort());
});
