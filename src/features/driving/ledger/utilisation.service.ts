import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import type { UtilisationArgs } from './ledger.args.js';
import { EquipmentReliability, Reliability, Utilisation } from './utilisation.models.js';

const UTILISATION = sql`select ${columnsOf(Utilisation, '', { period: 'name' })} from utilisation_by($1, $2, $3::date, $4::date) order by first_day`;

const OF_EQUIPMENT = columnsOf(EquipmentReliability, 'r', {
  equipment: 'equipment_code',
  description: 'coalesce(q.description, c.description)',
});

/** The drive's row, followed by those of its equipment. */
const OF_DRIVE = columnsOf(Reliability, 'shown', {
  equipment: { as: 'of_equipment.rows' },
});

const RELIABILITY = sql`with shown as materialized (select * from reliability_by($1, $2::date, $3::date))
  select ${OF_DRIVE} from shown cross join (
    select coalesce(json_agg(t), '[]') as rows from (
      select ${String(OF_EQUIPMENT)}
      from shown r left join equipment q on q.project_id = scope_project() and q.code = r.equipment_code
      left join activity_code c on c.project_id = scope_project() and c.code = r.code
      where not r.whole order by r.repair_hours desc, r.equipment_code, r.code
    ) t
  ) of_equipment where shown.whole`;

@Injectable()
export class UtilisationService {
  constructor(private readonly drives: DriveReader) {}

  utilisation(drive: string, { by, ...range }: UtilisationArgs): Promise<Utilisation[]> {
    return this.drives.read(drive, UTILISATION, by ?? 'drive', ...daysOf(range));
  }

  async reliability(drive: string, range: DateRange): Promise<Reliability> {
    const [found] = await this.drives.read(drive, RELIABILITY, ...daysOf(range));
    if (!found) throw new Error('the reliability of a drive is one row');
    return found;
  }
}
