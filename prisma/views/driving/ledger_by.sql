-- The ledger of a drive broken down by one of its properties: code, time_class, party, equipment, shift (its id), week,
-- ground_class, or interval (the number of the interval of interval_m on round chainages). An activity counts once in
-- each row that has time of it. Shares have six decimals and sum to 1 exactly (shares_of).
create or replace function ledger_by(drive int, cut text, part text, from_day date, to_day date, interval_m numeric)
returns table (key text, seconds numeric, hours numeric, share numeric, activity_count int, mean_hours numeric, longest_hours numeric,
  non_boring_seconds numeric, lost_seconds numeric)
language sql stable begin atomic
  with entry as ( -- the place is looked up only where the breakdown needs it
    select e.activity_id, e.non_boring, e.lost, e.seconds, e.production_day,
      case cut when 'ground_class' then e.ground_class_code
        else least(interval_holding(d.direction * e.chainage_m, interval_m), interval_ending(d.direction * d.end_chainage_m, interval_m))::text end as key
    from ledger_entry e
    join drive d on d.id = e.drive_id
    where e.drive_id = ledger_by.drive and cut in ('ground_class', 'interval')
    union all
    select p.activity_id, p.non_boring, p.non_boring and not p.planned, p.seconds, p.production_day,
      case cut
        when 'code' then p.code
        when 'time_class' then p.counts_as
        when 'party' then p.responsible_party
        when 'equipment' then p.equipment_code
        when 'shift' then p.shift_id::text
        when 'week' then to_char(p.production_day, 'IYYY-"W"IW')
      end
    from booked_part p
    where p.drive_id = ledger_by.drive and cut not in ('ground_class', 'interval')
  ), booked as (
    select e.activity_id, e.non_boring, e.lost, sum(e.seconds) as seconds, e.key
    from entry e
    where case ledger_by.part when 'lost' then e.lost when 'non_boring' then e.non_boring else true end
      and e.production_day >= coalesce(from_day, '-infinity') and e.production_day <= coalesce(to_day, 'infinity')
    group by e.activity_id, e.non_boring, e.lost, e.key
  ), heap as (
    select key, sum(seconds) as seconds, count(*)::int as activity_count, max(seconds) as longest,
      coalesce(sum(seconds) filter (where non_boring), 0.000) as non_boring_seconds, coalesce(sum(seconds) filter (where lost), 0.000) as lost_seconds
    from booked group by key
  ), listed as ( -- ties by time, position or key, never by an internal id
    select h.*, row_number() over (order by h.seconds desc, case when cut = 'shift' then (select s.starts_at from shift s where s.id = h.key::int) end,
        case when cut = 'interval' then h.key::numeric end, h.key collate "C") as place
    from heap h
  ), shared as materialized (
    select shares_of(array_agg(seconds order by place)) as millionths from listed
  )
  select key, seconds, seconds / 3600, round((select millionths from shared)[place]::numeric / 1000000, 6), activity_count,
    seconds / 3600 / activity_count, longest / 3600, non_boring_seconds, lost_seconds
  from listed;
end;

comment on function ledger_by(int, text, text, date, date, numeric) is
  'Hours of a drive''s ledger by code, time_class, party, equipment, shift, week, ground_class or interval, of all time, of non_boring time or of lost time '
  'only, from and to production days; shares sum to 1 exactly.';
