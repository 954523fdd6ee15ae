import { Injectable } from '@nestjs/common';
import { partOf } from '../../../common/api/chainage-window.js';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { readJson } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { scope } from '../../../common/database/scope.js';
import { type LedgerIntervalArgs, type ParetoArgs, ParetoPart, type StopArgs } from './ledger.args.js';
import type {
  LedgerByCode,
  LedgerByEquipment,
  LedgerByGroundClass,
  LedgerByInterval,
  LedgerByParty,
  LedgerByShift,
  LedgerByTimeClass,
  LedgerByWeek,
  LedgerStop,
  ParetoCode,
} from './ledger.models.js';

const HOURS = `l.seconds::text as seconds, round(l.hours, 4)::text as hours`;
const FIGURES = `${HOURS}, l.share::text as share, l.activity_count as "activityCount", round(l.mean_hours, 4)::text as "meanHours",
  round(l.longest_hours, 4)::text as "longestHours"`;

/** The rows that the views report.ledger_by_… show, of the days asked for. */
const by = (cut: string): string => `ledger_by($1, '${cut}', 'all', $2::date, $3::date, null) l`;

const CODES = `select c.code, c.description, c.counts_as as "countsAs", ${FIGURES} from ${by('code')}
  join activity_code c on c.project_id = scope_project() and c.code = l.key order by l.seconds desc, c.code`;

const TIME_CLASSES = `select l.key as "countsAs", ${FIGURES} from ${by('time_class')} order by l.seconds desc, l.key`;

const PARTIES = `select l.key as "responsibleParty", ${FIGURES} from ${by('party')} order by l.seconds desc, l.key`;

const EQUIPMENT = `select l.key as equipment, q.description, ${FIGURES} from ${by('equipment')}
  left join equipment q on q.project_id = scope_project() and q.code = l.key order by l.seconds desc, l.key`;

const SHIFTS = `select s.shift_date as date, n.name as shift, s.state, ${FIGURES} from ${by('shift')}
  join shift s on s.id = l.key::int join calendar_shift n on n.id = s.calendar_shift_id order by s.starts_at`;

const WEEKS = `select l.key as week, to_date(l.key, 'IYYY-"W"IW') as "firstDay", ${FIGURES} from ${by('week')} order by l.key`;

const GROUND_CLASSES = `select l.ground_class_code as "groundClass", ${FIGURES}, round(l.non_boring_hours, 4)::text as "nonBoringHours",
  round(l.lost_hours, 4)::text as "lostHours", l.bored_m::text as "boredM", round(l.non_boring_hours_per_100_m, 4)::text as "nonBoringHoursPer100M",
  round(l.lost_hours_per_100_m, 4)::text as "lostHoursPer100M"
  from ledger_in_ground_classes($1, $2::date, $3::date) l order by l.ground_class_code nulls last`;

const INTERVALS = `select chainage_text(l.from_chainage_m) as from, chainage_text(l.to_chainage_m) as to, ${FIGURES}
  from ledger_in_intervals($1, $2, $3::numeric, $4::date, $5::date) l
  where l.to_m > $6::numeric and l.from_m < $7::numeric order by l.from_m`;

const PARETO = `select l.rank, l.code, l.description, l.counts_as as "countsAs", ${FIGURES}, l.cumulative_share::text as "cumulativeShare", l.lost
  from ledger_pareto_of($1, $2, $3::date, $4::date) l order by l.rank`;

const STOPS = `select l.code, l.description, l.counts_as as "countsAs", l.started_at as "startedAt", l.ended_at as "endedAt",
  l.production_day as "productionDay", ${HOURS}, l.activity_count as "activityCount", chainage_text(l.chainage_m) as "faceChainage",
  l.ground_class_code as "groundClass", l.lost from ledger_stop l
  where l.drive_id = $1 and l.production_day >= coalesce($2::date, '-infinity') and l.production_day <= coalesce($3::date, 'infinity')
  order by l.seconds desc, l.started_at limit $4::int`;

const USUAL_LENGTH_M = 100;
const USUAL_STOPS = 10;

@Injectable()
export class LedgerService {
  constructor(private readonly drives: DriveReader) {}

  codes(drive: string, range: DateRange): Promise<LedgerByCode[]> {
    return this.drives.read<LedgerByCode>(drive, CODES, ...daysOf(range));
  }

  timeClasses(drive: string, range: DateRange): Promise<LedgerByTimeClass[]> {
    return this.drives.read<LedgerByTimeClass>(drive, TIME_CLASSES, ...daysOf(range));
  }

  parties(drive: string, range: DateRange): Promise<LedgerByParty[]> {
    return this.drives.read<LedgerByParty>(drive, PARTIES, ...daysOf(range));
  }

  equipment(drive: string, range: DateRange): Promise<LedgerByEquipment[]> {
    return this.drives.read<LedgerByEquipment>(drive, EQUIPMENT, ...daysOf(range));
  }

  shifts(drive: string, range: DateRange): Promise<JsonRows<LedgerByShift>> {
    return this.drives.readJson<LedgerByShift>(drive, SHIFTS, ...daysOf(range));
  }

  weeks(drive: string, range: DateRange): Promise<LedgerByWeek[]> {
    return this.drives.read<LedgerByWeek>(drive, WEEKS, ...daysOf(range));
  }

  groundClasses(drive: string, range: DateRange): Promise<LedgerByGroundClass[]> {
    return this.drives.read<LedgerByGroundClass>(drive, GROUND_CLASSES, ...daysOf(range));
  }

  /** Of the intervals that reach into the part, each whole. */
  intervals(drive: string, asked: LedgerIntervalArgs): Promise<JsonRows<LedgerByInterval>> {
    const { lengthM, fromChainage, toChainage } = asked;
    return this.drives.reading(drive, async (id, statements) => {
      const ends = { from: fromChainage, to: toChainage };
      const { lowM, highM } = await partOf(statements, id, ends, ['fromChainage', 'toChainage']);
      const part = [String(lengthM ?? USUAL_LENGTH_M), ...daysOf(asked), lowM, highM];
      return readJson<LedgerByInterval>(statements, INTERVALS, scope().project, drive, ...part);
    });
  }

  pareto(drive: string, { of, ...range }: ParetoArgs): Promise<ParetoCode[]> {
    return this.drives.read<ParetoCode>(drive, PARETO, of ?? ParetoPart.non_boring, ...daysOf(range));
  }

  stops(drive: string, { first, ...range }: StopArgs): Promise<LedgerStop[]> {
    return this.drives.read<LedgerStop>(drive, STOPS, ...daysOf(range), first ?? USUAL_STOPS);
  }
}
