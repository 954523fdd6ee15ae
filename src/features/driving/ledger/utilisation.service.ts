import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import type { UtilisationArgs } from './ledger.args.js';
import { type Reliability, Utilisation } from './utilisation.models.js';

const UTILISATION = sql`select ${columnsOf(Utilisation, '', { period: 'name' })} from utilisation_by($1, $2, $3::date, $4::date) order by first_day`;

const FIGURES = `"operatingHours", "repairHours", "failureCount", "mtbfHours", "mttrHours", availability`;

const RELIABILITY = `with shown as (
    select r.whole, r.equipment_code as equipment, r.code, coalesce(q.description, c.description) as description, r.repair_hours,
      round(r.operating_hours, 4)::text as "operatingHours", round(r.repair_hours, 4)::text as "repairHours", r.failure_count as "failureCount",
      round(r.mtbf_hours, 4)::text as "mtbfHours", round(r.mttr_hours, 4)::text as "mttrHours", r.availability::text as availability
    from reliability_by($1, $2::date, $3::date) r
    left join equipment q on q.project_id = scope_project() and q.code = r.equipment_code
    left join activity_code c on c.project_id = scope_project() and c.code = r.code)
  select ${FIGURES}, (
    select coalesce(json_agg(t), '[]') from (
      select equipment, code, description, ${FIGURES} from shown where not whole order by repair_hours desc, equipment, code
    ) t
  ) as equipment from shown where whole`;

@Injectable()
export class UtilisationService {
  constructor(private readonly drives: DriveReader) {}

  utilisation(drive: string, { by, ...range }: UtilisationArgs): Promise<Utilisation[]> {
    return this.drives.read(drive, UTILISATION, by ?? 'drive', ...daysOf(range));
  }

  async reliability(drive: string, range: DateRange): Promise<Reliability> {
    const [found] = await this.drives.read<Reliability>(drive, RELIABILITY, ...daysOf(range));
    if (!found) throw new Error('the reliability of a drive is one row');
    return found;
  }
}
