import { Injectable } from '@nestjs/common';
import { notFound } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { type Reading, sqlOf } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { jobIn } from '../../../common/work/job.js';
import { Papers } from '../../../common/work/papers.js';
import { openItemsOfShifts } from '../record/open-items.js';
import {
  DAILY_CAUTION,
  type DailyReport,
  type DailyShift,
  type DailySignature,
} from './daily-report.models.js';
import {
  DAY_SUPPORT,
  DAY_TIMES,
  DAYS,
  HEAD,
  MISSING,
  OF_EACH_SHIFT,
  OPEN_ALERTS,
  SHIFTS,
} from './daily-report-sql.js';

const PAPER = jobIn<DailyReport[], Uint8Array>(import.meta.url, 'day-paper', 'dayPaper');

interface Party {
  side: 'contractor' | 'client';
  kind: string;
  name: string;
}

type LastChange = Pick<DailyReport, 'change' | 'changedAt' | 'changedClock'>;

type Head = Pick<DailyReport, 'projectName' | 'driveName' | 'timeZone'> & {
  lastChange: LastChange | null;
  parties: Party[];
};

type Lists = Omit<{ [Key in keyof DailyShift]: DailyShift[Key] extends object[] ? Key : never }, never>;
type ListOf = Exclude<Lists[keyof Lists], undefined>;
type Figures = 'advanceM' | 'fromChainage' | 'faceChainage' | 'strokeCount' | 'boringHours' | 'cumulativeM';
type Answer =
  | 'acceptance'
  | 'countersignedBy'
  | 'countersignedFor'
  | 'countersignedClock'
  | 'disputedBy'
  | 'disputeReason';

/** A shift of which only the head has been read. */
type ShiftHead = Omit<DailyShift, ListOf | Figures | Answer> & { id: number; day: string };

type Keyed<T> = T & { day: string };

/** Who signs for each side; a designer does not sign shift sheets. */
const signaturesOf = (parties: Party[]): DailySignature[] => {
  const named = (side: Party['side']): string[] =>
    parties.filter((party) => party.side === side && party.kind !== 'designer').map(({ name }) => name);
  return [
    { side: 'Contractor', parties: named('contractor') },
    { side: 'Supervision / client', parties: named('client') },
  ];
};

/** Rows grouped by what they belong to, without that key. */
const grouped = <Key extends string, K extends string | number, T extends Record<Key, K>>(
  rows: T[],
  key: Key,
): Map<K, Omit<T, Key>[]> => {
  const groups = new Map<K, Omit<T, Key>[]>();
  for (const { [key]: owner, ...row } of rows) {
    const group = groups.get(owner) ?? [];
    group.push(row as Omit<T, Key>);
    groups.set(owner, group);
  }
  return groups;
};

const nameOf = ({ date, shift }: { date?: string; shift?: string }): string => `${date}/${shift}`;

/** Everything about the shifts, by their ids: one statement per list, however many shifts there are. */
const readShifts = async (
  statements: Statements,
  driveId: number,
  timeZone: string,
  heads: ShiftHead[],
): Promise<Keyed<DailyShift>[]> => {
  const ids = heads.map(({ id }) => id);
  const read = <Key extends keyof typeof OF_EACH_SHIFT>(key: Key) =>
    readRows<{ id: number }>(
      statements,
      OF_EACH_SHIFT[key],
      ...[ids, driveId, ...(sqlOf(OF_EACH_SHIFT[key]).includes('$3') ? [timeZone] : [])],
    );
  const names = Object.keys(OF_EACH_SHIFT) as (keyof typeof OF_EACH_SHIFT)[];
  const [openItems, ...lists] = await Promise.all([
    openItemsOfShifts(statements, driveId, ids),
    ...names.map(read),
  ]);
  const byName = new Map(names.map((name, index) => [name, grouped(lists[index] ?? [], 'id')]));
  return heads.map(({ id, ...head }) => {
    const list = (name: keyof typeof OF_EACH_SHIFT): object[] => byName.get(name)?.get(id) ?? [];
    const [figures = {}] = list('figures');
    const [acceptance = {}] = list('acceptance');
    const more = names.filter((name) => name !== 'figures' && name !== 'acceptance');
    return {
      ...head,
      ...figures,
      ...acceptance,
      ...Object.fromEntries(more.map((name) => [name, list(name)])),
      openItems: openItems.filter((item) => nameOf(item) === nameOf(head)),
    } as Keyed<DailyShift>;
  });
};

/** Reports of production days: composed once, then rendered as JSON, PDF or HTML. */
@Injectable()
export class DailyReportService {
  constructor(
    private readonly drives: DriveReader,
    private readonly papers: Papers,
  ) {}

  /** @throws ProblemError not_found naming the drive, or a day in which no shift starts */
  async get(drive: string, date: string): Promise<DailyReport> {
    const [report] = await this.between(drive, date, date);
    if (!report) throw notFound(`shift that starts in production day ${date} in drive ${drive}`);
    return report;
  }

  /** Those of a month, such as 2027-03, given with its last day. @throws ProblemError not_found naming the drive, or a month in which no shift starts */
  async month(drive: string, month: string, last: string): Promise<DailyReport[]> {
    const reports = await this.between(drive, `${month}-01`, last);
    if (reports.length === 0) throw notFound(`shift that starts in month ${month} in drive ${drive}`);
    return reports;
  }

  /** Reports as PDF (A4), one after the other. */
  paper(reports: DailyReport[]): Promise<Buffer> {
    return this.papers.draw(PAPER, reports);
  }

  /**
   * Reports of the days in a range in which a shift starts, in order. The number of statements does not depend on the number of days.
   * @throws ProblemError not_found naming the drive
   */
  between(drive: string, first: string, last: string): Promise<DailyReport[]> {
    return this.drives.reading(drive, async (driveId, statements) => {
      const [[head], shiftHeads] = await Promise.all([
        readRows<Head>(statements, HEAD, driveId),
        readRows(statements, SHIFTS, driveId, first, last),
      ]);
      if (!head || shiftHeads.length === 0) return [];
      const { lastChange, parties, ...names } = head;
      const ofDays = <T>(reading: Reading<T>): Promise<T[]> =>
        readRows(statements, reading, driveId, first, last);
      const [days, times, support, missing, openAlerts, shifts] = await Promise.all([
        readRows(statements, DAYS, driveId, first, last),
        ofDays(DAY_TIMES),
        ofDays(DAY_SUPPORT),
        ofDays(MISSING),
        readRows(statements, OPEN_ALERTS, driveId, head.timeZone),
        readShifts(statements, driveId, head.timeZone, shiftHeads),
      ]);
      const [ofTimes, ofSupport, ofMissing, ofShifts] = [
        grouped(times, 'day'),
        grouped(support, 'day'),
        grouped(missing, 'day'),
        grouped(shifts, 'day'),
      ];
      return days.flatMap((day): DailyReport[] => {
        const own = ofShifts.get(day.date);
        if (!own) return [];
        return [
          {
            ...{ project: scope().project, drive, ...names, ...day, ...lastChange },
            times: ofTimes.get(day.date) ?? [],
            support: ofSupport.get(day.date) ?? [],
            missingShifts: (ofMissing.get(day.date) ?? []).map(({ shift }) => shift),
            openAlerts,
            signatures: signaturesOf(parties),
            shifts: own as DailyShift[],
            caution: DAILY_CAUTION,
          },
        ];
      });
    });
  }
}
