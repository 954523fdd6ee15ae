import { Injectable } from '@nestjs/common';
import { Database, readRows, type Transaction } from '../../../common/database/database.js';
import type { BoringMachine, MeasuredBoring } from '../../../engineering/stroke-values.js';
import { BORING_VALUES } from './boring-columns.js';
import { valuesOf } from './values-of.js';

/** The data of the drive's machine, each revision with the date from which it is in force. */
const MACHINES = `select m.valid_from as "validFrom", m.disc_count as "discCount", m.disc_radius_mm as "discRadiusMm", d.bored_diameter_m as "boredDiameterM",
  m.friction_kn as "frictionKn", m.idle_torque_knm as "idleTorqueKnm", m.torque_ratio_lower as "torqueRatioLower",
  m.torque_ratio_upper as "torqueRatioUpper"
  from drive d join machine_data m on m.machine_id = d.machine_id where d.id = $1`;

const MEASURED = `select b.id, b.thrust_kn as "thrustKn", b.torque_knm as "torqueKnm", b.rotation_rpm as "rotationRpm",
  b.penetration_mm_per_rev as "penetrationMmPerRev", m.valid_from as "validFrom"
  from boring b join drive d on d.id = b.drive_id join project p on p.id = d.project_id
  left join shift s on s.drive_id = b.drive_id and s.id = b.shift_id
  cross join lateral (select bored_on(s.shift_date, b.started_at, p.time_zone, p.day_start) as day offset 0) bored
  left join machine_data m on m.machine_id = d.machine_id and bored.day >= m.valid_from and bored.day < m.valid_to
  where b.drive_id = $1`;

const STORE = `update boring b set (${BORING_VALUES.names}) = (${BORING_VALUES.values})
  from jsonb_to_recordset($1::jsonb) as r(id int, ${BORING_VALUES.record})
  where b.id = r.id and (${BORING_VALUES.names}) is distinct from (${BORING_VALUES.values})`;

/** Before any row is written: a shift locks its drive, then its rows. */
const LOCK_DRIVES = 'select id from drive order by id for no key update';

interface Measured extends MeasuredBoring {
  id: number;
  /** first date of the machine data in force when it was bored; null: the drive has no machine */
  validFrom: string | null;
}

/** Keeps the values stored with borings consistent with the machine data and the bored diameter. */
@Injectable()
export class StrokeValuesService {
  constructor(private readonly database: Database) {}

  /**
   * Recomputes the values of all borings of a drive, each with the machine data in force when it was bored.
   * @returns how many changed
   */
  async rebuild(transaction: Transaction, driveId: number): Promise<number> {
    const machines = await readRows<BoringMachine & { validFrom: string }>(transaction, MACHINES, driveId);
    const dataOf = new Map(machines.map(({ validFrom, ...machine }) => [validFrom, machine]));
    const borings = await readRows<Measured>(transaction, MEASURED, driveId);
    if (borings.length === 0) return 0;
    const values = borings.map(({ id, validFrom, ...measured }) => ({
      id,
      ...valuesOf(measured, dataOf.get(validFrom ?? '') ?? null),
    }));
    return transaction.$executeRawUnsafe(STORE, JSON.stringify(values));
  }

  /** The same for all drives of the project in scope. @returns how many borings changed */
  rebuildAll(): Promise<number> {
    return this.database.atomic(async (transaction) => {
      let changed = 0;
      for (const { id } of await readRows<{ id: number }>(transaction, LOCK_DRIVES))
        changed += await this.rebuild(transaction, id);
      return changed;
    });
  }
}
