import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database, type Transaction } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { removeUnused } from '../../../common/database/removal.js';
import { scope } from '../../../common/database/scope.js';
import { metresText, parseChainage } from '../../../engineering/chainage.js';
import { StrokeValuesService } from '../../driving/stroke-values/stroke-values.service.js';
import type { Drive, DriveInput, DriveProgress } from './drive.model.js';

const DRIVES = `select p.code as project, d.code, d.name, chainage_text(d.start_chainage_m) as "startChainage",
  chainage_text(d.end_chainage_m) as "endChainage", d.direction, d.bored_diameter_m::text as "boredDiameterM",
  m.code as machine, d.density_t_per_m3::text as "densityTPerM3", d.swell_percent::text as "swellPercent",
  d.probe_look_out_limit_deg::text as "probeLookOutLimitDeg", coalesce(d.indication_tolerance_m, 0)::text as "indicationToleranceM", d.calendar_from as "calendarFrom", abs(d.end_chainage_m - d.start_chainage_m)::text as "lengthM"
  from drive d join project p on p.id = d.project_id left join machine m on m.id = d.machine_id
  order by d.code`;

const PROGRESS = `select chainage_text(face_chainage_m) as "faceChainage", face_m::text as "faceM", bored_m::text as "boredM",
  missing_m::text as "missingM", remaining_m::text as "remainingM", untimed_m::text as "untimedM", stroke_count as "strokeCount",
  last_bored_at as "lastBoredAt", next_hold_point as "nextHoldPoint", chainage_text(next_hold_point_chainage_m) as "nextHoldPointChainage",
  to_next_hold_point_m::text as "toNextHoldPointM", passed_hold_point_count as "passedHoldPointCount" from drive_progress where drive_id = $1`;

/** Probe holes look out 3 to 8° as a rule; one above this leaves the section within its first metres. */
const USUAL_LOOK_OUT_LIMIT_DEG = '12';

@Injectable()
export class DrivesService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
    private readonly values: StrokeValuesService,
  ) {}

  list(): Promise<Drive[]> {
    return this.database.read<Drive>(DRIVES);
  }

  get(code: string): Promise<Drive> {
    return oneOf(this.list(), (each) => each.code === code, `drive ${code} in project ${scope().project}`);
  }

  async progress(code: string): Promise<DriveProgress> {
    const [progress] = await this.drives.read<DriveProgress>(code, PROGRESS);
    if (!progress) throw notFound(`drive ${code} in project ${scope().project}`);
    return progress;
  }

  /** The values of its strokes follow the diameter and the machine, in the same transaction. */
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
          Number(input.indicationToleranceM ?? 0) === 0 ? null : input.indicationToleranceM, // none, as before it could be entered
        calendarFrom: input.calendarFrom == null ? null : new Date(input.calendarFrom),
      };
      const { id } = await transaction.drive.upsert({
        where: { projectId_code: { projectId, code } },
        create: { projectId, code, ...values },
        update: values,
      });
      await this.values.rebuild(transaction, id);
    });
    return this.get(code);
  }

  /** Removes a drive of which nothing is recorded. */
  async remove(code: string): Promise<void> {
    await this.database.atomic((transaction) =>
      removeUnused(transaction, 'drive', `drive ${code}`, 'code = $1', code),
    );
  }
}

const machineId = async (
  transaction: Transaction,
  projectId: number,
  code?: string | null,
): Promise<number | null> => {
  if (code == null) return null;
  const machine = await transaction.machine.findUnique({ where: { projectId_code: { projectId, code } } });
  if (machine) return machine.id;
  throw faulty('invalid', [
    { in: 'body', pointer: '/machine', value: code, detail: `machine ${code} is not in the project` },
  ]);
};

const againstDirection = ({ startChainage, endChainage, direction }: DriveInput): Fault => ({
  in: 'body',
  pointer: '/endChainage',
  value: endChainage,
  detail: `a drive from ${startChainage} in direction ${direction} cannot end at ${endChainage}`,
});
