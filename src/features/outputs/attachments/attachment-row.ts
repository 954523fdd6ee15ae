import { type Fault, faulty } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import type { AttachmentInput } from './attachment.models.js';

/** The description of a file, as stored. */
export interface DescriptionRow {
  caption: string | null;
  takenAt: string | null;
  fromM: string | null;
  toM: string | null;
  shiftDate: string | null;
  shiftName: string | null;
  subjectKind: string | null;
  subjectName: string | null;
}

const SHIFT = `select 1 as found from shift s join calendar_shift n on n.id = s.calendar_shift_id
  where s.drive_id = $1 and s.shift_date = $2::date and n.name = $3`;

interface Subject {
  word: string;
  /** finds the record by the drive, $1, and its name, $2 */
  sql: string;
}

const SUBJECTS: Record<NonNullable<AttachmentInput['subjectKind']>, Subject> = {
  probe_hole: {
    word: 'probe hole',
    sql: 'select 1 as found from probe_hole where drive_id = $1 and name = $2',
  },
  stroke: {
    word: 'stroke',
    sql: 'select 1 as found from boring where drive_id = $1 and stroke_number::text = $2 limit 1',
  },
  ground_log: {
    word: 'ground log',
    sql: 'select 1 as found from ground_log_sheet where drive_id = $1 and name = $2',
  },
};

/** Collects the faults of a file's description. */
class Reading {
  readonly faults: Fault[] = [];

  constructor(
    private readonly statements: Statements,
    private readonly driveId: number,
    private readonly frame: DriveFrame,
  ) {}

  fault(field: keyof AttachmentInput, value: unknown, detail: string): void {
    this.faults.push({ in: 'body', pointer: `/${field}`, value, detail });
  }

  /** Both or none. */
  pair(input: AttachmentInput, one: keyof AttachmentInput, other: keyof AttachmentInput): boolean {
    for (const [given, absent] of [[one, other] as const, [other, one] as const])
      if (input[given] != null && input[absent] == null)
        this.fault(given, input[given], `${given} needs ${absent}: neither is enough alone`);
    return input[one] != null && input[other] != null;
  }

  /** Driven metres of the place or interval. */
  place({ from, to }: AttachmentInput): Pick<DescriptionRow, 'fromM' | 'toM'> {
    if (from == null) {
      if (to != null) this.fault('to', to, 'to needs from: where it begins');
      return { fromM: null, toM: null };
    }
    const [fromMm, toMm] = [this.driven('from', from), this.driven('to', to ?? from)];
    if (fromMm === undefined || toMm === undefined) return { fromM: null, toM: null };
    if (toMm < fromMm) {
      const way = this.frame.direction === 1 ? 'rising' : 'falling';
      this.fault('to', to, `${to} lies behind ${from}: the drive runs with ${way} chainage`);
    }
    return { fromM: metresText(fromMm), toM: metresText(toMm) };
  }

  private driven(field: 'from' | 'to', chainage: string): number | undefined {
    const mm = this.frame.drivenMm(chainage);
    const outside = this.frame.outside(mm);
    if (outside === undefined) return mm;
    if (!this.faults.some(({ value }) => value === chainage)) this.fault(field, chainage, outside);
    return undefined;
  }

  async shift(input: AttachmentInput): Promise<void> {
    if (!this.pair(input, 'shiftDate', 'shiftName')) return;
    const { shiftDate, shiftName } = input;
    if (await this.isThere(SHIFT, shiftDate, shiftName)) return;
    this.fault('shiftName', shiftName, `there is no shift ${shiftDate} ${shiftName} in this drive`);
  }

  async subject(input: AttachmentInput): Promise<void> {
    if (!this.pair(input, 'subjectKind', 'subjectName')) return;
    const { subjectKind, subjectName } = input;
    const { word, sql } = SUBJECTS[subjectKind as NonNullable<typeof subjectKind>];
    if (await this.isThere(sql, subjectName)) return;
    this.fault('subjectName', subjectName, `there is no ${word} ${subjectName} in this drive`);
  }

  private async isThere(sql: string, ...parameters: unknown[]): Promise<boolean> {
    return (await readRows(this.statements, sql, this.driveId, ...parameters)).length > 0;
  }
}

/** The description of a file, as stored. @throws ProblemError invalid with every fault of its places and references */
export const descriptionRow = async (
  statements: Statements,
  driveId: number,
  frame: DriveFrame,
  input: AttachmentInput,
): Promise<DescriptionRow> => {
  const reading = new Reading(statements, driveId, frame);
  const place = reading.place(input);
  await reading.shift(input);
  await reading.subject(input);
  if (reading.faults.length > 0) throw faulty('invalid', reading.faults);
  return {
    ...place,
    caption: input.caption ?? null,
    takenAt: input.takenAt ?? null,
    shiftDate: input.shiftDate ?? null,
    shiftName: input.shiftName ?? null,
    subjectKind: input.subjectKind ?? null,
    subjectName: input.subjectName ?? null,
  };
};
