import { Injectable } from '@nestjs/common';
import { codeFault } from '../../../common/api/fields.js';
import { InputPipe } from '../../../common/api/input.pipe.js';
import { type Fault, firstOf, ProblemError, shown } from '../../../common/api/problem.js';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import { lockedDriveId } from '../../../common/database/drive-reader.service.js';
import { type DriveFrame, driveFrame } from '../../../common/drive-frame.js';
import { atLine } from '../../../common/files/sheet-headings.js';
import { Workers } from '../../../common/work/workers.js';
import { type ProbeHoleImportReport, ProbeHoleRowOutcome } from './hole-import.models.js';
import { type HoleSheet, READ_HOLES } from './hole-sheet.js';
import { ProbeHoleInput } from './probe-hole.model.js';
import { probeHoleRow } from './probe-hole-row.js';
import { upsertProbeHole } from './probing.service.js';

/** A hole as it stands, and how deep its log reaches. */
const STANDING = `select h.name, to_jsonb(h)::text as content, (select max(l.to_m)::float8 from probe_log l where l.probe_hole_id = h.id) as "logToM"
  from probe_hole h where h.drive_id = $1 and h.name = any($2)`;

interface Standing {
  name: string;
  content: string;
  logToM: number | null;
}

interface ReadRow {
  line: number;
  name?: string;
  values?: ReturnType<typeof probeHoleRow>;
  faults: Fault[];
}

/** Takes probe holes from a sheet, all or none. Safe to repeat: a hole that stands as the sheet has it is left alone. */
@Injectable()
export class ProbeHoleImportService {
  constructor(
    private readonly database: Database,
    private readonly workers: Workers,
  ) {}

  /** @throws ProblemError for a file or a row that cannot be taken; a dry run reports the rows instead */
  async take(
    drive: string,
    { file, delimiter, dryRun = false }: { file: Buffer; delimiter?: string; dryRun?: boolean },
  ): Promise<ProbeHoleImportReport> {
    const sheet = await this.workers.run(READ_HOLES, { file, delimiter });
    return this.database.atomicUnlessDry(dryRun, async (transaction) => {
      const id = await lockedDriveId(transaction, drive);
      const frame = await driveFrame(transaction, id);
      return takeSheet(transaction, id, await readSheet(sheet, frame), dryRun);
    });
  }
}

const readSheet = async ({ rows, columns }: HoleSheet, frame: DriveFrame): Promise<ReadRow[]> => {
  const read: ReadRow[] = [];
  const before = new Map<string, number>();
  for (const { line, hole, columns: own } of rows) {
    const { name, ...input } = hole;
    const faults: Fault[] = [];
    const note = (pointer: string, value: unknown, detail: string): void => {
      faults.push({ in: 'body', pointer, value: shown(value), detail });
    };
    if (own !== columns) note('', undefined, `the row has ${own} columns; there are ${columns} headings`);
    const wrong = codeFault(name);
    const twice = name === undefined ? undefined : before.get(name);
    if (wrong) note('/name', name, `name ${wrong}`);
    else if (twice !== undefined) note('/name', name, `hole ${name} is on line ${twice} already`);
    if (name !== undefined && twice === undefined) before.set(name, line);
    const row: ReadRow = { line, name, faults };
    try {
      const metadata = { type: 'body', metatype: ProbeHoleInput } as const;
      row.values = probeHoleRow((await new InputPipe().transform(input, metadata)) as ProbeHoleInput, frame);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      faults.push(...error.faults);
    }
    read.push(row);
  }
  return read;
};

const takeSheet = async (
  transaction: Transaction,
  driveId: number,
  rows: ReadRow[],
  dryRun: boolean,
): Promise<ProbeHoleImportReport> => {
  const names = rows.flatMap(({ name }) => (name === undefined ? [] : [name]));
  const standing = async (): Promise<Map<string, Standing>> =>
    new Map(
      (await readRows<Standing>(transaction, STANDING, driveId, names)).map((hole) => [hole.name, hole]),
    );
  const before = await standing();
  for (const { name, values, faults } of rows) {
    const logToM = before.get(name ?? '')?.logToM;
    if (values && logToM != null && logToM > Number(values.lengthM)) {
      const detail = `the log of hole ${name} reaches ${logToM.toFixed(3)} m: lengthM must not be less`;
      faults.push({ in: 'body', pointer: '/lengthM', value: values.lengthM, detail });
    }
  }
  const isSound = rows.every(({ faults }) => faults.length === 0);
  if (!isSound && !dryRun) throw refusal(rows);
  for (const { name, values, faults } of rows)
    if (name !== undefined && values && faults.length === 0)
      await upsertProbeHole(transaction, driveId, name, values);
  return reportOf(rows, before, await standing(), dryRun);
};

const refusal = (rows: ReadRow[]): ProblemError => {
  const faults = rows.flatMap((row, index) =>
    row.faults.map((fault) => atLine(fault, index, fault.pointer, row.line)),
  );
  const rejected = rows.filter((row) => row.faults.length > 0).length;
  const detail = `${rejected} of ${rows.length} rows rejected, nothing was written; see errors${firstOf(faults.length)}`;
  return new ProblemError('invalid', detail, faults);
};

const reportOf = (
  rows: ReadRow[],
  before: Map<string, Standing>,
  after: Map<string, Standing>,
  dryRun: boolean,
): ProbeHoleImportReport => {
  const counts = { created: 0, changed: 0, unchanged: 0, rejected: 0 };
  const reported = rows.map(({ line, name, faults }) => {
    const [stood, stands] = [before.get(name ?? '')?.content, after.get(name ?? '')?.content];
    const sound = stood === undefined ? 'created' : stood === stands ? 'unchanged' : 'changed';
    const outcome = ProbeHoleRowOutcome[faults.length > 0 ? 'rejected' : sound];
    counts[outcome] += 1;
    const detail =
      faults.length > 0
        ? faults
            .map((fault) => fault.detail)
            .join('; ')
            .slice(0, 5000)
        : undefined;
    return { line, name, outcome, detail };
  });
  return { dryRun, rows: reported, ...counts };
};
