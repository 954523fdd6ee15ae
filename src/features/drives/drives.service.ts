import { Injectable } from '@nestjs/common';
import { type Fault, faulty, notFound } from '../../common/api/problem.js';
import { Database } from '../../common/database/database.js';
import { metresText, parseChainage } from '../../engineering/chainage.js';
import { ProjectsService } from '../projects/projects.service.js';
import { StrokeValuesService } from '../strokes/stroke-values.service.js';
import type { Drive, DriveInput, DriveProgress } from './drive.model.js';

const DRIVES = `select p.code as project, d.code, d.name, chainage_text(d.start_chainage_m) as "startChainage",
  chainage_text(d.end_chainage_m) as "endChainage", d.direction, d.bored_diameter_m::text as "boredDiameterM",
  m.code as machine, abs(d.end_chainage_m - d.start_chainage_m)::text as "lengthM"
  from drive d join project p on p.id = d.project_id left join machine m on m.id = d.machine_id
  where p.code = $1 order by d.code`;

const PROGRESS = `select chainage_text(face_chainage_m) as "faceChainage", face_m::text as "faceM", bored_m::text as "boredM",
  missing_m::text as "missingM", remaining_m::text as "remainingM", untimed_m::text as "untimedM", stroke_count as "strokeCount",
  last_bored_at as "lastBoredAt" from report.drive_progress where project_code = $1 and drive_code = $2`;

@Injectable()
export class DrivesService {
  constructor(
    private readonly database: Database,
    private readonly projects: ProjectsService,
    private readonly values: StrokeValuesService,
  ) {}

  async list(project: string): Promise<Drive[]> {
    await this.projects.idOf(project);
    return this.database.read<Drive>(DRIVES, project);
  }

  async get(project: string, code: string): Promise<Drive> {
    const drive = (await this.list(project)).find((candidate) => candidate.code === code);
    if (!drive) throw notFound(`drive ${code} in project ${project}`);
    return drive;
  }

  async progress(project: string, code: string): Promise<DriveProgress> {
    const [progress] = await this.database.read<DriveProgress>(PROGRESS, project, code);
    if (!progress) throw notFound(`drive ${code} in project ${project}`);
    return progress;
  }

  /** The values of its strokes follow the diameter and the machine, in the same transaction. */
  async put(project: string, code: string, input: DriveInput): Promise<Drive> {
    const projectId = await this.projects.idOf(project);
    const startMm = parseChainage(String(input.startChainage));
    const endMm = parseChainage(String(input.endChainage));
    if ((endMm - startMm) * input.direction <= 0) throw faulty('invalid', [againstDirection(input)]);
    const values = {
      name: input.name,
      startChainageM: metresText(startMm),
      endChainageM: metresText(endMm),
      direction: input.direction,
      boredDiameterM: input.boredDiameterM,
      machineId: await this.machineId(projectId, input.machine),
    };
    await this.database.atomic(async (transaction) => {
      const where = { projectId_code: { projectId, code } };
      const { id } = await transaction.drive.upsert({
        where,
        create: { projectId, code, ...values },
        update: values,
      });
      await this.values.rebuild(transaction, id);
    });
    return this.get(project, code);
  }

  private async machineId(projectId: number, code?: string | null): Promise<number | null> {
    if (code == null) return null;
    const machine = await this.database.machine.findUnique({
      where: { projectId_code: { projectId, code } },
    });
    if (machine) return machine.id;
    throw faulty('invalid', [
      { in: 'body', pointer: '/machine', value: code, detail: `machine ${code} is not in the project` },
    ]);
  }
}

const againstDirection = ({ startChainage, endChainage, direction }: DriveInput): Fault => ({
  in: 'body',
  pointer: '/endChainage',
  value: endChainage,
  detail: `a drive from ${startChainage} in direction ${direction} cannot end at ${endChainage}`,
});
