import { Injectable } from '@nestjs/common';
import { Database, readRows, type Transaction } from '../../common/database/database.js';
import type { BoringMachine, MeasuredBoring } from '../../engineering/stroke-values.js';
import { BORING_VALUES } from './boring-columns.js';
import { valuesOf } from './values-of.js';

const MACHINE = `select m.disc_count as "discCount", m.disc_radius_mm as "discRadiusMm", d.bored_diameter_m as "boredDiameterM",
  m.friction_kn as "frictionKn", m.idle_torque_knm as "idleTorqueKnm", m.torque_ratio_lower as "torqueRatioLower",
  m.torque_ratio_upper as "torqueRatioUpper"
  from drive d join machine m on m.id = d.machine_id where d.id = $1`;

const MEASURED = `select id, thrust_kn as "thrustKn", torque_knm as "torqueKnm", rotation_rpm as "rotationRpm",
  penetration_mm_per_rev as "penetrationMmPerRev" from boring where drive_id = $1`;

const STORE = `update boring b set (${BORING_VALUES.names}) = (${BORING_VALUES.values})
  from jsonb_to_recordset($1::jsonb) as r(id int, ${BORING_VALUES.record})
  where b.id = r.id and (${BORING_VALUES.names}) is distinct from (${BORING_VALUES.values})`;

/** Keeps the values stored with the borings true to the machine and the bored diameter. */
@Injectable()
export class StrokeValuesService {
  constructor(private readonly database: Database) {}

  async machineOf(transaction: Transaction, driveId: number): Promise<BoringMachine | null> {
    const [machine] = await readRows<BoringMachine>(transaction, MACHINE, driveId);
    return machine ?? null;
  }

  /** Computes the values of all borings of a drive anew. @returns how many changed */
  async rebuild(transaction: Transaction, driveId: number): Promise<number> {
    const machine = await this.machineOf(transaction, driveId);
    const borings = await readRows<MeasuredBoring & { id: number }>(transaction, MEASURED, driveId);
    if (borings.length === 0) return 0;
    const values = borings.map(({ id, ...measured }) => ({ id, ...valuesOf(measured, machine) }));
    return transaction.$executeRawUnsafe(STORE, JSON.stringify(values));
  }

  /** All drives of the project in scope. @returns how many borings changed */
  rebuildAll(): Promise<number> {
    return this.database.atomic(async (transaction) => {
      let changed = 0;
      for (const { id } of await transaction.drive.findMany({ select: { id: true } }))
        changed += await this.rebuild(transaction, id);
      return changed;
    });
  }
}
