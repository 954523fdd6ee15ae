-- One row per drive and method of investigation: how its indications turned out. Percentages only from ten cases on; fewer cases are given as
-- counts. Errors and leads are those of hits. The sums are of decimals, so that the order of rows does not matter.
create or replace view indication_score as
select
  p.code as project_code,
  d.code as drive_code,
  v.method::text as method,
  v.method_name,
  v.investigation_count,
  coalesce(i.indication_count, 0) as indication_count,
  coalesce(i.open_count, 0) as open_count,
  coalesce(i.hit_count, 0) as hit_count,
  coalesce(i.false_alarm_count, 0) as false_alarm_count,
  coalesce(e.missed_count, 0) as missed_count,
  case when i.hit_count + i.false_alarm_count >= 10 then round(100.0 * i.hit_count / (i.hit_count + i.false_alarm_count), 1) end as hit_percent,
  case when coalesce(i.hit_count, 0) + coalesce(e.missed_count, 0) >= 10
    then round(100.0 * coalesce(i.hit_count, 0) / (coalesce(i.hit_count, 0) + coalesce(e.missed_count, 0)), 1) end as indicated_percent,
  i.mean_position_error_m,
  i.mean_absolute_position_error_m,
  i.largest_position_error_m,
  i.mean_lead_m,
  i.least_lead_m,
  i.mean_lead_days,
  i.least_lead_days,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  select method, method_name, count(*)::int as investigation_count from investigation
  where investigation.drive_id = d.id and made_at <= (select moment_asked()) group by method, method_name
) v
left join lateral (
  select o.method, o.method_name, count(*)::int as indication_count, (count(*) filter (where o.outcome = 'open'))::int as open_count,
    (count(*) filter (where o.outcome = 'hit'))::int as hit_count, (count(*) filter (where o.outcome = 'false_alarm'))::int as false_alarm_count,
    round(avg(o.position_error_m) filter (where o.outcome = 'hit'), 3) as mean_position_error_m,
    round(avg(abs(o.position_error_m)) filter (where o.outcome = 'hit'), 3) as mean_absolute_position_error_m,
    (array_agg(o.position_error_m order by abs(o.position_error_m) desc,
      o.position_error_m desc) filter (where o.outcome = 'hit'))[1] as largest_position_error_m,
    round(avg(o.lead_m) filter (where o.outcome = 'hit'), 3) as mean_lead_m, min(o.lead_m) filter (where o.outcome = 'hit') as least_lead_m,
    round(avg(o.lead_days) filter (where o.outcome = 'hit'), 2) as mean_lead_days, min(o.lead_days) filter (where o.outcome = 'hit') as least_lead_days
  from indication_outcome_of(d.id) o group by o.method, o.method_name
) i on i.method = v.method and i.method_name is not distinct from v.method_name
left join lateral (
  select o.method, o.method_name, (count(*) filter (where o.outcome = 'missed'))::int as missed_count
  from encounter_outcome_of(d.id) o group by o.method, o.method_name
) e on e.method = v.method and e.method_name is not distinct from v.method_name;

comment on view indication_score is 'One row per drive and method of investigation: how its indications turned out. Decision support.';
comment on column indication_score.open_count is 'Indications that the face has not passed yet.';
comment on column indication_score.hit_count is 'Indications that the face has passed and that were met.';
comment on column indication_score.false_alarm_count is 'Indications that the face has passed and that were not met.';
comment on column indication_score.missed_count is 'Things met in the range of an investigation that did not indicate them, once for each such investigation.';
comment on column indication_score.hit_percent is 'Hits of hits and false alarms; null below ten. [%]';
comment on column indication_score.indicated_percent is 'Hits of hits and misses; null below ten. [%]';
comment on column indication_score.mean_position_error_m is 'Mean of start met less start indicated, of the hits. [m]';
comment on column indication_score.mean_absolute_position_error_m is 'Mean of its amount. [m]';
comment on column indication_score.largest_position_error_m is 'The one of the largest amount, with its sign. [m]';
comment on column indication_score.mean_lead_m is 'Mean advance of the face from investigation until met, of the hits. [m]';
comment on column indication_score.least_lead_m is 'Least of them. [m]';
comment on column indication_score.mean_lead_days is 'Mean time from investigation until met, of the hits. [d]';
comment on column indication_score.least_lead_days is 'Least of them. [d]';
