import { Injectable } from '@nestjs/common';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { UtilisationArgs } from './ledger.args.js';
import type { Reliability, Utilisation } from './utilisation.models.js';

const UTILISATION = `select name as period, first_day as "firstDay", last_day as "lastDay", round(boring_hours, 4)::text as "boringHours",
  round(shift_hours, 4)::text as "shiftHours", round(working_hours, 4)::text as "workingHours", round(calendar_hours, 4)::text as "calendarHours",
  of_shift_time::text as "ofShiftTime", of_working_time::text as "ofWorkingTime", of_calendar_time::text as "ofCalendarTime",
  round(closed_hours, 4)::text as "closedHours", round(planned_closed_hours, 4)::text as "plannedClosedHours", of_open_time::text as "ofOpenTime"
  from utilisation_by($1, $2, $3::date, $4::date) order by first_day`;

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
    return this.drives.read<Utilisation>(drive, UTILISATION, by ?? 'drive', ...daysOf(range));
  }

  async reliability(drive: string, range: DateRange): Promise<Reliability> {
    const [found] = await this.drives.read<Reliability>(drive, RELIABILITY, ...daysOf(range));
    if (!found) throw new Error('the reliability of a drive is one row');
    return found;
  }
}
