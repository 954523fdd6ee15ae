import { Injectable } from '@nestjs/common';
import { Database, readRows } from '../../../common/database/database.js';
import { overbreakVolume } from '../../../engineering/overbreak.js';

const COMPUTED = `select id, area_m2::text as "areaM2", (to_m - from_m)::text as "lengthM"
  from overbreak_item where not volume_surveyed order by id for no key update`;

const STORE = `update overbreak_item o set volume_m3 = v."volumeM3"
  from jsonb_to_recordset($1::jsonb) as v(id int, "volumeM3" numeric)
  where o.id = v.id and o.volume_m3 is distinct from v."volumeM3"`;

/** Keeps the volumes stored with overbreak consistent with areas and lengths; surveyed volumes stay. */
@Injectable()
export class OverbreakVolumesService {
  constructor(private readonly database: Database) {}

  /** Recomputes the volumes of all overbreak of the project in scope. @returns how many changed */
  rebuildAll(): Promise<number> {
    return this.database.atomic(async (transaction) => {
      const items = await readRows<{ id: number; areaM2: string; lengthM: string }>(transaction, COMPUTED);
      if (items.length === 0) return 0;
      const volumes = items.map(({ id, areaM2, lengthM }) => ({
        id,
        volumeM3: overbreakVolume(areaM2, lengthM),
      }));
      return transaction.$executeRawUnsafe(STORE, JSON.stringify(volumes));
    });
  }
}
