-- Dimension: shifts. Everything posted by a shift is replaced with it, so a copy is kept up to date shift by shift, by change_number.
create or replace view dim_shift as
select s.shift_id, d.project_id, s.drive_id, s.project_code, s.drive_code, s.shift_date, s.shift_name, s.production_day, s.starts_at, s.ends_at, s.starts_local,
  s.ends_local,
  s.seconds, s.state, s.crew_lead, posted.id as posted_for_party_id, signed.id as countersigned_for_party_id, own.countersigned_at, c.change_number,
    c.changed_at
from shift_sheet s
join drive d on d.id = s.drive_id
join shift own on own.id = s.shift_id
cross join lateral (select * from shift_changed where shift_id = s.shift_id offset 0) c
left join party posted on posted.project_id = d.project_id and posted.code = own.posted_for ->> 'code'
left join party signed on signed.project_id = d.project_id and signed.code = own.countersigned_for ->> 'code';

comment on view dim_shift is
  'Dimension: one row per shift, with the number of the last change of its document; reading again the shifts whose number has risen keeps a copy up to date.';
comment on column dim_shift.production_day is 'Production day in which it starts.';
comment on column dim_shift.starts_local is 'starts_at in the project''s time zone.';
comment on column dim_shift.ends_local is 'ends_at in the project''s time zone.';
comment on column dim_shift.seconds is 'Length of the shift. [s]';
comment on column dim_shift.crew_lead is 'Who led the crew.';
comment on column dim_shift.posted_for_party_id is 'Party on whose behalf it was last posted; null: none, or the party no longer exists.';
comment on column dim_shift.countersigned_for_party_id is 'Party for which it was countersigned; null: not countersigned, none, or the party no longer exists.';
comment on column dim_shift.countersigned_at is 'When it was countersigned; null: not countersigned.';
comment on column dim_shift.change_number is 'Number of the last change of its document or its state, in the history of the project.';
comment on column dim_shift.changed_at is 'When that change was made.';
comment on column dim_shift.state is 'draft, submitted or countersigned.';
