import { Injectable } from '@nestjs/common';
import { partOf } from '../../../common/api/chainage-window.js';
import { type DateRange, daysOf } from '../../../common/api/ranges.js';
import { readJson } from '../../../common/database/database.js';
import { DriveReader } from '../../../common/database/drive-reader.service.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { type LedgerIntervalArgs, type ParetoArgs, ParetoPart, type StopArgs } from './ledger.args.js';
import {
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

/** The rows of the views report.ledger_by_…, for the requested days. */
const by = (cut: string): string => `ledger_by($1, '${cut}', 'all', $2::date, $3::date, null) l`;

const CODES = sql`select ${columnsOf(LedgerByCode, 'l', { code: 'c.code', description: 'c.description', countsAs: 'c.counts_as' })} from ${by('code')}
  join activity_code c on c.project_id = scope_project() and c.code = l.key order by l.seconds desc, c.code`;

const TIME_CLASSES = sql`select ${columnsOf(LedgerByTimeClass, 'l', { countsAs: 'key' })} from ${by('time_class')} order by l.seconds desc, l.key`;

const PARTIES = sql`select ${columnsOf(LedgerByParty, 'l', { responsibleParty: 'key' })} from ${by('party')} order by l.seconds desc, l.key`;

const EQUIPMENT = sql`select ${columnsOf(LedgerByEquipment, 'l', { equipment: 'key', description: 'q.description' })} from ${by('equipment')}
  left join equipment q on q.project_id = scope_project() and q.code = l.key order by l.seconds desc, l.key`;

const SHIFTS = sql`select ${columnsOf(LedgerByShift, 'l', { date: 's.shift_date', shift: 'n.name', state: 's.state' })} from ${by('shift')}
  join shift s on s.id = l.key::int join calendar_shift n on n.id = s.calendar_shift_id order by s.starts_at`;

const WEEKS = sql`select ${columnsOf(LedgerByWeek, 'l', { week: 'key', firstDay: `to_date(l.key, 'IYYY-"W"IW')` })} from ${by('week')} order by l.key`;

const GROUND_CLASSES = sql`select ${columnsOf(LedgerByGroundClass, 'l')}
  from ledger_in_ground_classes($1, $2::date, $3::date) l order by l.ground_class_code nulls last`;

const INTERVALS = sql`select ${columnsOf(LedgerByInterval, 'l')} from ledger_in_intervals($1, $2, $3::numeric, $4::date, $5::date) l
  where l.to_m > $6::numeric and l.from_m < $7::numeric order by l.from_m`;

const PARETO = sql`select ${columnsOf(ParetoCode, 'l')} from ledger_pareto_of($1, $2, $3::date, $4::date) l order by l.rank`;

const STOPS = sql`select ${columnsOf(LedgerStop, 'l', { faceChainage: 'chainage_m' })} from ledger_stop l
  where l.drive_id = $1 and l.production_day >= coalesce($2::date, '-infinity') and l.production_day <= coalesce($3::date, 'infinity')
  order by l.seconds desc, l.started_at limit $4::int`;

const USUAL_LENGTH_M = 100;
const USUAL_STOPS = 10;

@Injectable()
export class LedgerService {
  constructor(private readonly drives: DriveReader) {}

  codes(drive: string, range: DateRange): Promise<LedgerByCode[]> {
    return this.drives.read(drive, CODES, ...daysOf(range));
  }

  timeClasses(drive: string, range: DateRange): Promise<LedgerByTimeClass[]> {
    return this.drives.read(drive, TIME_CLASSES, ...daysOf(range));
  }

  parties(drive: string, range: DateRange): Promise<LedgerByParty[]> {
    return this.drives.read(drive, PARTIES, ...daysOf(range));
  }

  equipment(drive: string, range: DateRange): Promise<LedgerByEquipment[]> {
    return this.drives.read(drive, EQUIPMENT, ...daysOf(range));
  }

  shifts(drive: string, range: DateRange): Promise<JsonRows<LedgerByShift>> {
    return this.drives.readJson(drive, SHIFTS, ...daysOf(range));
  }

  weeks(drive: string, range: DateRange): Promise<LedgerByWeek[]> {
    return this.drives.read(drive, WEEKS, ...daysOf(range));
  }

  groundClasses(drive: string, range: DateRange): Promise<LedgerByGroundClass[]> {
    return this.drives.read(drive, GROUND_CLASSES, ...daysOf(range));
  }

  /** Whole intervals that overlap the part. */
  intervals(drive: string, asked: LedgerIntervalArgs): Promise<JsonRows<LedgerByInterval>> {
    const { lengthM, fromChainage, toChainage } = asked;
    return this.drives.reading(drive, async (id, statements) => {
      const ends = { from: fromChainage, to: toChainage };
      const { lowM, highM } = await partOf(statements, id, ends, ['fromChainage', 'toChainage']);
      const part = [String(lengthM ?? USUAL_LENGTH_M), ...daysOf(asked), lowM, highM];
      return readJson(statements, INTERVALS, scope().project, drive, ...part);
    });
  }

  pareto(drive: string, { of, ...range }: ParetoArgs): Promise<ParetoCode[]> {
    return this.drives.read(drive, PARETO, of ?? ParetoPart.non_boring, ...daysOf(range));
  }

  stops(drive: string, { first, ...range }: StopArgs): Promise<LedgerStop[]> {
    return this.drives.read(drive, STOPS, ...daysOf(range), first ?? USUAL_STOPS);
  }
}
