import type { Command } from 'commander';
import path from 'node:path';
import { isDate } from '../common/api/rules.js';
import type { Database } from '../common/database/database.js';
import { DriveReader } from '../common/database/drive-reader.service.js';
import { Papers } from '../common/work/papers.js';
import { Workers } from '../common/work/workers.js';
import { DailyReportService } from '../features/outputs/daily-report/daily-report.service.js';
import { dayFile } from '../features/outputs/daily-report/day-page.js';
import { dayPaper } from '../features/outputs/daily-report/day-paper.js';
import {
  checked,
  type Finish,
  notes,
  ON_DATABASE,
  onDrive,
  print,
  toBeWritten,
  withJson,
} from './command.js';
import { onRecord } from './on-record.js';
import { writeNew } from './write-new.js';

/** The service that reads reports; a command draws them in its own thread, as nothing else waits for it. */
const reportsOf = (database: Database): DailyReportService =>
  new DailyReportService(new DriveReader(database), new Papers(new Workers()));

interface Options {
  project: string;
  drive: string;
  json?: boolean;
}

const DAY_NOTES = `Examples:
  drivebook report day 2027-03-01 day.pdf --project TRIAL --drive N
  drivebook report day 2027-03-01 day.json --project TRIAL --drive N

The service answers the same: GET /v1/projects/P/drives/D/daily-reports/DATE, by Accept.
${ON_DATABASE}`;

const MONTH_NOTES = `Examples:
  drivebook report month 2027-03 march.pdf --project TRIAL --drive N

${ON_DATABASE}`;

const day = (date: string, file: string, { project, drive, json }: Options): Promise<number> =>
  onRecord(project, async (database) => {
    const reports = reportsOf(database);
    const form = path.extname(file).toLowerCase();
    const report = await reports.get(drive, date);
    const content =
      form === '.pdf'
        ? await dayPaper([report])
        : form === '.html'
          ? dayFile(report)
          : `${JSON.stringify(report, null, 2)}\n`;
    if (!(await writeNew(file, content))) return 1;
    const bytes = Buffer.byteLength(content);
    const shifts = report.shifts.length;
    print(
      { file, date, shifts, bytes },
      json,
      () =>
        `${file}: daily report ${date} of drive ${drive}, ${shifts} ${shifts === 1 ? 'shift' : 'shifts'}, ${bytes} bytes.`,
    );
    return 0;
  });

/** The last day of a month, such as 2027-02-28. */
const lastDay = (month: string): string => {
  const [year, number] = month.split('-').map(Number);
  return `${month}-${new Date(Date.UTC(year!, number!, 0)).getUTCDate()}`;
};

/** Progress on one line, on a terminal only. */
const tellDays =
  (of: number) =>
  (days: number): void => {
    if (process.stderr.isTTY) process.stderr.write(`\rDay ${days} of ${of}${days === of ? '\n' : ''}`);
  };

const month = (name: string, file: string, { project, drive, json }: Options): Promise<number> =>
  onRecord(project, async (database) => {
    const service = reportsOf(database);
    const reports = await service.month(drive, name, lastDay(name));
    const content = await dayPaper(reports, tellDays(reports.length));
    if (!(await writeNew(file, content))) return 1;
    const [days, bytes] = [reports.length, content.length];
    print(
      { file, month: name, days, bytes },
      json,
      () =>
        `${file}: daily reports of ${name} of drive ${drive}, ${days} ${days === 1 ? 'day' : 'days'}, ${bytes} bytes.`,
    );
    return 0;
  });

/** `drivebook report day` and `drivebook report month`. */
export const addDailyReports = (report: Command, finish: Finish): void => {
  const ofDay = report
    .command('day')
    .summary('write the report of a production day as PDF, HTML or JSON')
    .description(
      'Writes the report of a production day to a new file, a sheet for each shift and the totals of the day. The extension sets the format: PDF, HTML or JSON.',
    )
    .argument(
      '<date>',
      'production day, such as 2027-03-01',
      checked((date) => (isDate(date) ? undefined : 'must be a date such as 2027-03-01')),
    )
    .argument(
      '<file>',
      'the file to write, .pdf, .html or .json',
      toBeWritten('<file>', '.pdf', '.html', '.json'),
    );
  withJson(onDrive(ofDay)).action(async (date: string, file: string, options: Options) =>
    finish(await day(date, file, options)),
  );
  notes(ofDay, DAY_NOTES);
  const ofMonth = report
    .command('month')
    .summary('write the daily reports of a month as one PDF')
    .description('Writes the reports of all production days of a month with shifts to one new PDF file.')
    .argument(
      '<month>',
      'month, such as 2027-03',
      checked((name) =>
        /^\d{4}-\d\d$/.test(name) && isDate(`${name}-01`) ? undefined : 'must be a month such as 2027-03',
      ),
    )
    .argument('<file>', 'the file to write, .pdf', toBeWritten('<file>', '.pdf'));
  withJson(onDrive(ofMonth)).action(async (name: string, file: string, options: Options) =>
    finish(await month(name, file, options)),
  );
  notes(ofMonth, MONTH_NOTES);
};
