import { Injectable } from '@nestjs/common';
import { emptied } from '../../common/api/emptied.js';
import { faulty, notFound } from '../../common/api/problem.js';
import { Database } from '../../common/database/database.js';
import { scope } from '../../common/database/scope.js';
import { StrokeValuesService } from '../strokes/stroke-values.service.js';
import type { Machine, MachineInput } from './machine.model.js';

const MACHINES = `select m.code, m.name, m.disc_count as "discCount", m.disc_radius_mm::text as "discRadiusMm",
  m.rated_disc_load_kn::text as "ratedDiscLoadKn", m.stroke_length_m::text as "strokeLengthM",
  m.installed_power_kw::text as "installedPowerKw", m.rated_thrust_kn::text as "ratedThrustKn",
  m.rated_torque_knm::text as "ratedTorqueKnm", m.friction_kn::text as "frictionKn", m.idle_torque_knm::text as "idleTorqueKnm",
  m.torque_ratio_lower::text as "torqueRatioLower", m.torque_ratio_upper::text as "torqueRatioUpper",
  m.belt_capacity_t_per_h::text as "beltCapacityTPerH"
  from machine m order by m.code`;

const OPTIONAL = [
  'ratedDiscLoadKn',
  'strokeLengthM',
  'installedPowerKw',
  'ratedThrustKn',
  'ratedTorqueKnm',
  'frictionKn',
  'idleTorqueKnm',
  'torqueRatioLower',
  'torqueRatioUpper',
  'beltCapacityTPerH',
] as const;

@Injectable()
export class MachinesService {
  constructor(
    private readonly database: Database,
    private readonly values: StrokeValuesService,
  ) {}

  list(): Promise<Machine[]> {
    return this.database.read<Machine>(MACHINES);
  }

  async get(code: string): Promise<Machine> {
    const machine = (await this.list()).find((candidate) => candidate.code === code);
    if (!machine) throw notFound(`machine ${code} in project ${scope().project}`);
    return machine;
  }

  /** The values of the strokes bored with the machine follow it, in the same transaction. */
  async put(code: string, input: MachineInput): Promise<Machine> {
    const { projectId } = scope();
    refuseBounds(input);
    const values = emptied(input, OPTIONAL);
    await this.database.atomic(async (transaction) => {
      const machine = await transaction.machine.upsert({
        where: { projectId_code: { projectId, code } },
        create: { projectId, code, ...values },
        update: values,
        include: { drives: { select: { id: true } } },
      });
      for (const drive of machine.drives) await this.values.rebuild(transaction, drive.id);
    });
    return this.get(code);
  }
}

const refuseBounds = ({ torqueRatioLower: lower, torqueRatioUpper: upper }: MachineInput): void => {
  if (lower == null || upper == null || Number(upper) > Number(lower)) return;
  const detail = `torqueRatioUpper ${upper} must be above torqueRatioLower ${lower}`;
  throw faulty('invalid', [{ in: 'body', pointer: '/torqueRatioUpper', value: upper, detail }]);
};
