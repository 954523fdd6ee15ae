import { Injectable } from '@nestjs/common';
import { Database, readRows } from '../../../common/database/database.js';
import { type Plane, poleOf } from '../../../engineering/orientation.js';

const PLANES = `select id, dip_deg::float8 as "dipDeg", dip_direction_deg::float8 as "dipDirectionDeg"
  from discontinuity order by id for no key update`;

const STORE = `update discontinuity t set (pole_east, pole_north, pole_down) = row(v.east, v.north, v.down)
  from jsonb_to_recordset($1::jsonb) as v(id int, east float8, north float8, down float8)
  where t.id = v.id and (t.pole_east, t.pole_north, t.pole_down) is distinct from (v.east, v.north, v.down)`;

/** Keeps the poles stored with discontinuities consistent with their dips and dip directions. */
@Injectable()
export class DiscontinuityPolesService {
  constructor(private readonly database: Database) {}

  /** Recomputes the poles of all discontinuities of the project in scope. @returns how many changed */
  rebuildAll(): Promise<number> {
    return this.database.atomic(async (transaction) => {
      const planes = await readRows<Plane & { id: number }>(transaction, PLANES);
      if (planes.length === 0) return 0;
      const poles = planes.map(({ id, ...plane }) => {
        const [east, north, down] = poleOf(plane);
        return { id, east, north, down };
      });
      return transaction.$executeRawUnsafe(STORE, JSON.stringify(poles));
    });
  }
}
