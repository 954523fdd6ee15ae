import type pg from 'pg';
import { VIEW_QUERIES } from './comparisons.js';

export interface Plan {
  what: string;
  milliseconds: number;
  text: string;
}

const BY_CODE = `project_code = 'P' and drive_code = 'LARGE'`;

const queries = (driveId: number, shiftId: number): Record<string, string> => ({
  ...Object.fromEntries(
    Object.entries(VIEW_QUERIES).map(([path, sql]) => [path, sql.replace('$1', String(driveId))]),
  ),
  'advance/days by code': `select * from report.day_advance where ${BY_CODE} order by production_day`,
  'advance/shifts by code': `select * from report.shift_advance where ${BY_CODE} order by starts_at`,
  'strokes, a page': `select * from report.stroke where drive_id = ${driveId} and stroke_number > 6000 order by stroke_number limit 1001`,
  'open items of the drive': `select * from report.open_item where drive_id = ${driveId}`,
  'open items of a shift': `select * from report.open_item where shift_id = ${shiftId}`,
  'support total': `select * from report.support_total where drive_id = ${driveId}`,
  'support by day': `select * from report.support_by_day where drive_id = ${driveId}`,
  'support by ground class': `select * from report.support_by_ground_class where drive_id = ${driveId}`,
  'support by 10 m': `select * from report.support_in_intervals('P', 'LARGE', 10)`,
  'missing support by 10 m': `select * from report.missing_support('P', 'LARGE', 10)`,
  'unsupported length': `select * from report.unsupported_length('P', 'LARGE')`,
  'as built, 100 m': `select * from report.as_built('P', 'LARGE', 11000, 11100)`,
  'probe cover': `select * from report.probe_cover where drive_id = ${driveId}`,
});

/** EXPLAIN (ANALYZE) of the views on the large drive, of which a neighbour is a copy. */
export const explainViews = async (client: pg.Client, driveId: number): Promise<Plan[]> => {
  const { rows } = await client.query<{ id: number }>(
    'select id from shift where drive_id = $1 order by starts_at offset 1000 limit 1',
    [driveId],
  );
  const plans: Plan[] = [];
  await client.query(`set statement_timeout = '30s'`);
  for (const [what, sql] of Object.entries(queries(driveId, rows[0]?.id ?? 0))) {
    try {
      const answer = await client.query<{ 'QUERY PLAN': string }>(
        `explain (analyze, buffers, costs off) ${sql}`,
      );
      const text = answer.rows.map((row) => row['QUERY PLAN']).join('\n');
      plans.push({ what, milliseconds: Number(/Execution Time: ([\d.]+)/.exec(text)?.[1]), text });
    } catch (error) {
      plans.push({ what, milliseconds: NaN, text: (error as Error).message });
    }
  }
  await client.query('reset statement_timeout');
  return plans;
};
