import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { Database } from '../../../common/database/database.js';
import { Background } from '../../../common/work/background.js';
import { Papers } from '../../../common/work/papers.js';
import type { Workers } from '../../../common/work/workers.js';
import { DailyReportService } from '../daily-report/daily-report.service.js';
import { Strips } from '../strip/strip.service.js';
import { DraftSums } from '../../payment/valuations/draft-sums.service.js';
import { ValuationExportService } from '../../payment/valuations/out/valuation-export.service.js';
import type { PackageFiles } from './package-files.js';
import type { Part } from './part.js';

/** Length of each as-built record, so that drawing takes little memory. [m] */
const STRIP_M = 1000;

interface Paper {
  drive: string;
  kind: 'month' | 'strip' | 'valuation';
  /** first day of a month; first chainage; number */
  from: string;
  /** last day of a month; last chainage */
  to: string;
}

/** The printable parts of a drive: months with shifts, driven length, valuations. */
const PAPERS = `select d.code as drive, p.kind, p.from, p.to from drive d cross join lateral (
    select 1 as place, 'month' as kind, month::date::text as from, (month + interval '1 month' - interval '1 day')::date::text as to, null::numeric as sort
      from (select date_trunc('month', min(shift_date) - 1) as first, date_trunc('month', max(shift_date) + 1) as last from shift where drive_id = d.id) s
      cross join lateral generate_series(s.first, s.last, interval '1 month') as month
    union all
    select 2, 'strip', chainage_at(d.id, m), chainage_at(d.id, least(m + ${STRIP_M}, a.face_m)), m
      from (select face_m from drive_progress where drive_id = d.id) a cross join lateral generate_series(0::numeric, a.face_m, ${STRIP_M}) as m where m < a.face_m
    union all
    select 3, 'valuation', number::text, '', number from valuation where drive_id = d.id) p
  where ($1::text is null or d.code = $1) order by 1, p.place, p.sort, p.from`;

/** Papers as PDF: daily reports by month, the as-built record by kilometre, valuations. */
export const addPapers = async (
  files: PackageFiles,
  database: Database,
  workers: Workers,
  { drive: only, progress }: Part,
): Promise<number> => {
  const drives = new DriveReader(database);
  const papers = new Papers(workers);
  const reports = new DailyReportService(drives, papers);
  const valuations = new ValuationExportService(drives, new DraftSums(database, new Background()), papers);
  // a cached assessment is read; none is computed here
  const strips = new Strips(drives, workers, (_, judged, read) => read(judged));
  const asked = await database.read<Paper>(PAPERS, only ?? null);
  let count = 0;
  const add = async (name: string, content: Buffer): Promise<void> => {
    await files.add(name, content);
    count += 1;
  };
  for (const [index, { drive, kind, from, to }] of asked.entries()) {
    const folder = `papers/${drive}`;
    if (kind === 'month') {
      const days = await reports.between(drive, from, to);
      if (days.length > 0)
        await add(`${folder}/daily-reports-${from.slice(0, 7)}.pdf`, await reports.paper(days));
    } else if (kind === 'strip') {
      const paper = await strips.pdf(drive, { from, to });
      await add(`${folder}/as-built-${from}-to-${to}.pdf`, await paper.draw());
    } else await add(`${folder}/valuation-${from}.pdf`, await valuations.pdf(drive, Number(from)));
    progress((index + 1) / asked.length);
  }
  return count;
};
