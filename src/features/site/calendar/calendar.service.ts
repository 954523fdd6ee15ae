import { Injectable } from '@nestjs/common';
import { oneOf } from '../../../common/api/one-of.js';
import { type Fault, faulty, notFound } from '../../../common/api/problem.js';
import { Database, readRows, type Statements } from '../../../common/database/database.js';
import { removeUnused } from '../../../common/database/removal.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import {
  type Calendar,
  type CalendarInput,
  CalendarShift,
  type CalendarShiftInput,
  type NamedCalendarShiftInput,
} from './calendar.models.js';

const CALENDAR_SHIFTS_COLUMNS = columnsOf(CalendarShift, '', {
  validFrom: `nullif(valid_from, '-infinity')`,
  validUntil: `nullif(valid_to, 'infinity') - 1`,
});

const CALENDAR_SHIFTS = sql`select ${CALENDAR_SHIFTS_COLUMNS}
  from calendar_in_force where $1::date is null or ($1::date >= valid_from and $1::date < valid_to) order by valid_from, name`;

const STORE = `insert into calendar_shift (project_id, valid_from, name, start_time, end_time, weekdays)
  select scope_project(), $1::date, r.name, r."startTime", r."endTime", r.weekdays
  from jsonb_to_recordset($2::jsonb) as r(name text, "startTime" text, "endTime" text, weekdays smallint[])
  on conflict (project_id, valid_from, name) do update set start_time = excluded.start_time, end_time = excluded.end_time, weekdays = excluded.weekdays`;

const REMOVE = 'delete from calendar_shift where valid_from = $1::date and name <> all ($2::text[])';

/** Shifts to be removed from the calendar under which others were posted. */
const POSTED = `select n.name, count(*)::int as shifts from calendar_shift n join shift s on s.calendar_shift_id = n.id
  where n.valid_from = $1::date and n.name <> all ($2::text[]) group by n.name order by n.name`;

/** The last countersigned shift to which the calendar would apply, and that was posted under another. */
const REACHED = `select s.shift_date as date, n.name, d.code as drive
  from shift s join calendar_shift n on n.id = s.calendar_shift_id join drive d on d.id = s.drive_id
  where s.state = 'countersigned' and n.valid_from is distinct from $1::date and s.shift_date >= $1::date
    and s.shift_date < coalesce((select min(l.valid_from) from calendar_shift l where l.valid_from > $1::date), 'infinity')
  order by s.shift_date desc, s.starts_at desc limit 1`;

/** Two shifts of a calendar at the same time, in minutes of the week; the week wraps from Sunday to Monday. Serialises the project's writers. */
const OVERLAP = `with project_held as materialized (
    select id from project where id = scope_project() for no key update
  ), worked as (
    select n.name, n.start_time, n.end_time, day, (day - 1) * 1440 + extract(epoch from n.start_time::interval)::int / 60 as start_min,
      (extract(epoch from n.end_time::interval - n.start_time::interval)::int / 60 + 1440 - 1) % 1440 + 1 as minutes
    from project_held p join calendar_shift n on n.project_id = p.id and n.valid_from is not distinct from $1::date
    cross join lateral unnest(n.weekdays) day
  )
  select a.name, a.start_time as "startTime", a.end_time as "endTime", o.name as other, o.start_time as "otherStart", o.end_time as "otherEnd"
  from worked a join worked o on o.name <> a.name and (o.start_min - a.start_min + 10080) % 10080 < a.minutes
  where a.name = any ($2::text[]) or o.name = any ($2::text[])
  order by array_position($2::text[], a.name), a.name, o.name limit 1`;

/**
 * The last shift of a calendar that overlaps the first of the next one: where a calendar begins, or where one between two was left
 * out. Local times of the day of the change.
 */
const CHANGEOVER = `select to_char(o.valid_from, 'YYYY-MM-DD') as day, a.name, a.start_time as "startTime", a.end_time as "endTime",
    nullif(a.valid_from, '-infinity') is not distinct from $1::date as "isLast",
    o.name as other, o.start_time as "otherStart", o.end_time as "otherEnd", o.valid_from = $1::date as "isFirst"
  from calendar_in_force a join calendar_in_force o on o.valid_from = a.valid_to
  where a.valid_from <= coalesce($1::date, '-infinity') and o.valid_from >= coalesce($1::date, '-infinity')
    and extract(isodow from o.valid_from - 1)::smallint = any (a.weekdays) and extract(isodow from o.valid_from)::smallint = any (o.weekdays)
    and a.end_time <= a.start_time and o.start_time < a.end_time
  order by o.valid_from, o.start_time, o.name limit 1`;

/** The calendars of a project, in sequence. A posted shift keeps the calendar and the times under which it was posted. */
@Injectable()
export class CalendarService {
  constructor(private readonly database: Database) {}

  shifts(on?: string | null): Promise<CalendarShift[]> {
    return this.database.read(CALENDAR_SHIFTS, on ?? null);
  }

  /** A shift of the calendar that is in force from the beginning. */
  shift(name: string): Promise<CalendarShift> {
    return oneOf(
      this.shifts(),
      (each) => each.name === name && !each.validFrom,
      `shift ${name} of the calendar`,
    );
  }

  async putShift(name: string, input: CalendarShiftInput): Promise<CalendarShift> {
    await this.database.ofProject(async (transaction) => {
      await transaction.$executeRawUnsafe(STORE, null, JSON.stringify([{ ...input, name }]));
      await refuseOverlap(transaction, null, [name]);
      await refuseChangeover(transaction, null);
    });
    return this.shift(name);
  }

  /** Removes a shift of the calendar that is in force from the beginning; none may have been posted under it. */
  async removeShift(name: string): Promise<void> {
    await this.database.atomic((transaction) =>
      removeUnused(
        transaction,
        'calendar_shift',
        `shift ${name} of the calendar`,
        'name = $1 and valid_from is null',
        name,
      ),
    );
  }

  /** Creates or replaces the calendar that is in force from a date. */
  async put(validFrom: string, { shifts }: CalendarInput): Promise<Calendar> {
    assertDistinctNames(shifts);
    await this.database.ofProject(async (transaction) => {
      await refuseReached(transaction, validFrom);
      await refusePosted(transaction, validFrom, shifts);
      await transaction.$executeRawUnsafe(
        REMOVE,
        validFrom,
        shifts.map(({ name }) => name),
      );
      await transaction.$executeRawUnsafe(STORE, validFrom, JSON.stringify(shifts));
      await refuseOverlap(
        transaction,
        validFrom,
        shifts.map(({ name }) => name),
      );
      await refuseChangeover(transaction, validFrom, shifts);
    });
    return this.get(validFrom);
  }

  /** Removes a calendar under which no shift was posted: the one before it then stays in force. */
  async remove(validFrom: string): Promise<void> {
    await this.database.ofProject(async (transaction) => {
      await refusePosted(transaction, validFrom, []);
      const removed = await transaction.$executeRawUnsafe(REMOVE, validFrom, []);
      if (removed === 0) throw notFound(`calendar from ${validFrom} in project ${scope().project}`);
      await refuseChangeover(transaction, validFrom);
    });
  }

  async get(validFrom: string): Promise<Calendar> {
    const shifts = (await this.shifts()).filter((shift) => shift.validFrom === validFrom);
    if (shifts.length === 0) throw notFound(`calendar from ${validFrom} in project ${scope().project}`);
    return { validFrom, shifts };
  }
}

/** @throws ProblemError invalid when a shift is named twice */
const assertDistinctNames = (shifts: NamedCalendarShiftInput[]): void => {
  const faults = shifts.flatMap<Fault>(({ name }, index) => {
    const first = shifts.findIndex((other) => other.name === name);
    const detail = `shift ${name} is in the calendar already, at /shifts/${first}`;
    return first < index ? [{ in: 'body', pointer: `/shifts/${index}/name`, value: name, detail }] : [];
  });
  if (faults.length > 0) throw faulty('invalid', faults);
};

/** A drive works one shift at a time. */
const refuseOverlap = async (
  statements: Statements,
  validFrom: string | null,
  names: string[],
): Promise<void> => {
  const [found] = await readRows<
    Record<'name' | 'startTime' | 'endTime' | 'other' | 'otherStart' | 'otherEnd', string>
  >(statements, OVERLAP, validFrom, names);
  if (!found) return;
  const put = names.includes(found.name)
    ? found
    : {
        name: found.other,
        startTime: found.otherStart,
        endTime: found.otherEnd,
        other: found.name,
        otherStart: found.startTime,
        otherEnd: found.endTime,
      };
  const detail = `shift ${put.name} from ${put.startTime} to ${put.endTime} overlaps shift ${put.other} from ${put.otherStart} to ${put.otherEnd}: the shifts of a calendar must not overlap`;
  const pointer = validFrom === null ? '/startTime' : `/shifts/${names.indexOf(put.name)}/startTime`;
  throw faulty('overlap', [{ in: 'body', pointer, value: put.startTime, detail }]);
};

interface Changeover extends Record<
  'day' | 'name' | 'startTime' | 'endTime' | 'other' | 'otherStart' | 'otherEnd',
  string
> {
  /** The shift that runs on belongs to the calendar being put. */
  isLast: boolean;
  /** The shift that begins does. */
  isFirst: boolean;
}

/** A drive would be expected to post both shifts, but could only post one. */
const refuseChangeover = async (
  statements: Statements,
  validFrom: string | null,
  shifts: NamedCalendarShiftInput[] = [],
): Promise<void> => {
  const [found] = await readRows<Changeover>(statements, CHANGEOVER, validFrom);
  if (!found) return;
  const { day, isLast, isFirst } = found;
  const detail = `on ${day}, when the calendar changes, shift ${found.name} from ${found.startTime} to ${found.endTime} overlaps shift ${found.other} from ${found.otherStart} to ${found.otherEnd}: the last shift of a calendar must end before the next calendar begins`;
  const at = (name: string): string =>
    validFrom === null ? '' : `/shifts/${shifts.findIndex((shift) => shift.name === name)}`;
  if (isFirst && shifts.length > 0)
    throw faulty('overlap', [
      { in: 'body', pointer: `${at(found.other)}/startTime`, value: found.otherStart, detail },
    ]);
  if (isLast && (shifts.length > 0 || validFrom === null))
    throw faulty('overlap', [
      { in: 'body', pointer: `${at(found.name)}/endTime`, value: found.endTime, detail },
    ]);
  throw faulty('overlap', [{ in: 'path', pointer: '/validFrom', value: validFrom, detail }]);
};

/** A shift accepted under one calendar must not be judged by another entered later. */
const refuseReached = async (statements: Statements, validFrom: string): Promise<void> => {
  const [reached] = await readRows<{ date: string; name: string; drive: string }>(
    statements,
    REACHED,
    validFrom,
  );
  if (!reached) return;
  const { date, name, drive } = reached;
  const detail = `shift ${date} ${name} in drive ${drive} is countersigned under another calendar: this one can begin after ${date}`;
  throw faulty('locked', [{ in: 'path', pointer: '/validFrom', value: validFrom, detail }]);
};

const refusePosted = async (
  statements: Statements,
  validFrom: string,
  kept: NamedCalendarShiftInput[],
): Promise<void> => {
  const names = kept.map(({ name }) => name);
  const posted = await readRows<{ name: string; shifts: number }>(statements, POSTED, validFrom, names);
  if (posted.length === 0) return;
  throw faulty(
    'in_use',
    posted.map(({ name, shifts }) => ({
      in: 'path' as const,
      pointer: '/validFrom',
      value: validFrom,
      detail: `shift ${name} cannot be removed from the calendar from ${validFrom}: ${shifts} posted under it`,
    })),
  );
};
