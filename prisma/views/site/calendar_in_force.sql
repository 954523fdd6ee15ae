-- One row per shift of a calendar, with the dates on which that calendar is in force: from valid_from to before valid_to. The
-- calendars of a project follow each other without a gap; the first one is in force from the beginning (-infinity).
create or replace view calendar_in_force as
select n.project_id, n.id as calendar_shift_id, n.name, n.start_time, n.end_time, n.weekdays, coalesce(n.valid_from, '-infinity') as valid_from,
  coalesce((select min(l.valid_from) from calendar_shift l where l.project_id = n.project_id and l.valid_from > coalesce(n.valid_from, '-infinity')),
    'infinity') as valid_to
from calendar_shift n;

comment on view calendar_in_force is 'The shifts of a project''s calendars, each with the dates on which its calendar is in force.';
comment on column calendar_in_force.valid_from is 'First date; -infinity: from the beginning.';
comment on column calendar_in_force.valid_to is 'Date on which the next calendar begins; infinity: none does.';
comment on column calendar_in_force.weekdays is 'ISO weekdays, 1 Monday to 7 Sunday.';
