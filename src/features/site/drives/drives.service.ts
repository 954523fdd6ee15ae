import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { refusedAt } from '../../../common/api/refused-at.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { removeUnused } from '../../../common/database/removal.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { codesOf, unknownCode } from '../../../common/unknown-code.js';
import { metresText, parseChainage } from '../../../engineering/chainage.js';
import type { Drive as DriveRow } from '../../../generated/prisma/client.js';
import { StrokeValuesService } from '../../driving/stroke-values/stroke-values.service.js';
import { Drive, type DriveInput, DriveProgress } from './drive.model.js';

const DRIVES_COLUMNS = columnsOf(Drive, 'd', {
  machine: 'm.code',
  indicationToleranceM: 'coalesce(d.indication_tolerance_m, 0)',
  project: 'p.code',
  lengthM: 'drive_length(d.start_chainage_m, d.end_chainage_m)',
});

const DRIVES = sql`select ${DRIVES_COLUMNS} from drive d join project p on p.id = d.project_id left join machine m on m.id = d.machine_id
  order by d.code`;

const PROGRESS = sql`select ${columnsOf(DriveProgress)} from drive_progress where drive_id = $1`;

/** Probe holes usually look out 3 to 8°; one above this leaves the section within its first metres. */
const USUAL_LOOK_OUT_LIMIT_DEG = '12';

@Injectable()
export class DrivesService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    private readonly values: StrokeValuesService,
  ) {}

  list(): Promise<Drive[]> {
    return this.database.read(DRIVES);
  }

  get(code: string): Promise<Drive> {
    return oneOf(this.list(), (each) => each.code === code, `drive ${code} in project ${scope().project}`);
  }

  async progress(code: string): Promise<DriveProgress> {
    const [progress] = await this.drives.read(code, PROGRESS);
    if (!progress) throw notFound(`drive ${code} in project ${scope().project}`);
    return progress;
  }

  /** The values of its strokes are recomputed for the new diameter and machine, in the same transaction. */
  async put(code: string, input: DriveInput): Promise<Drive> {
    const { projectId } = scope();
    const startMm = parseChainage(String(input.startChainage));
    const endMm = parseChainage(String(input.endChainage));
    if ((endMm - startMm) * input.direction <= 0) throw faulty('invalid', [againstDirection(input)]);
    await this.database.atomic(async (transaction) => {
      const values = {
        name: input.name,
        startChainageM: metresText(startMm),
        endChainageM: metresText(endMm),
        direction: input.direction,
        boredDiameterM: input.boredDiameterM,
        machineId: await machineId(transaction, projectId, input.machine),
        densityTPerM3: input.densityTPerM3 ?? null,
        swellPercent: input.swellPercent ?? null,
        probeLookOutLimitDeg: input.probeLookOutLimitDeg ?? USUAL_LOOK_OUT_LIMIT_DEG,
        indicationToleranceM:
          Number(input.indicationToleranceM ?? 0) === 0 ? null : input.indicationToleranceM, // stored as none, as before the field existed
        calendarFrom: input.calendarFrom == null ? null : new Date(input.calendarFrom),
      };
      const where = { projectId_code: { projectId, code } };
      const fixed = changesOf(input, values, await transaction.drive.findUnique({ where }));
      const { id } = await refusedAt('locked', fixed.alignment, () =>
        transaction.drive.upsert({ where, create: { projectId, code, ...values }, update: values }),
      );
      await refusedAt(
        'locked',
        fixed.computed,
        () => this.values.rebuild(transaction, id),
        (detail) => `values of strokes of drive ${code} would change, but ${detail}`,
      );
    });
    return this.get(code);
  }

  /** Removes a drive without records. */
  async remove(code: string): Promise<void> {
    await this.database.atomic((transaction) =>
      removeUnused(transaction, 'drive', `drive ${code}`, 'code = $1', code),
    );
  }
}

type Standing = Pick<DriveRow, 'startChainageM' | 'direction' | 'boredDiameterM' | 'machineId'>;

/** Fields that give a drive other values, of those that its records may fix: where it lies, and what its strokes are computed from. */
const changesOf = (
  input: DriveInput,
  values: { [Column in keyof Standing]: Standing[Column] | string },
  standing: Standing | null,
): Record<'alignment' | 'computed', object> => {
  const isSame = {
    startChainage: standing?.startChainageM.equals(values.startChainageM),
    direction: standing?.direction === values.direction,
    boredDiameterM: standing?.boredDiameterM.equals(values.boredDiameterM),
    machine: standing?.machineId === values.machineId,
  };
  const changed = (...names: (keyof typeof isSame)[]): object =>
    Object.fromEntries(names.filter((name) => isSame[name] !== true).map((name) => [name, input[name]]));
  const beginning = changed('startChainage', 'direction');
  return {
    alignment: Object.keys(beginning).length > 0 ? beginning : { endChainage: input.endChainage },
    computed: changed('machine', 'boredDiameterM'),
  };
};

const machineId = async (
  transaction: Transaction,
  projectId: number,
  code?: string | null,
): Promise<number | null> => {
  if (code == null) return null;
  const machine = await transaction.machine.findUnique({ where: { projectId_code: { projectId, code } } });
  if (machine) return machine.id;
  const detail = unknownCode('machine', code, await codesOf(transaction, 'machine'));
  throw faulty('invalid', [{ in: 'body', pointer: '/machine', value: code, detail }]);
};

const againstDirection = ({ startChainage, endChainage, direction }: DriveInput): Fault => ({
  in: 'body',
  pointer: '/endChainage',
  value: endChainage,
  detail: `a drive from ${startChainage} in direction ${direction} cannot end at ${endChainage}`,
});
