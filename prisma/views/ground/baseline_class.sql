-- One row per baseline and class. If a class has several rates, its rate is its metres over their days.
create or replace view baseline_class as
select
  g.project_code,
  g.drive_code,
  g.baseline,
  g.ground_class_code,
  sum(g.length_m) as length_m,
  case when min(g.advance_rate_m_per_d) = max(g.advance_rate_m_per_d) then min(g.advance_rate_m_per_d)
    else sum(g.length_m) / sum(g.length_m / g.advance_rate_m_per_d) end as advance_rate_m_per_d,
  g.working_hours_per_day,
  g.baseline_id,
  g.drive_id
from baseline_ground g
group by g.project_code, g.drive_code, g.baseline, g.ground_class_code, g.working_hours_per_day, g.baseline_id, g.drive_id;

comment on view baseline_class is 'What each baseline expects by ground class: metres of the whole drive [m] and advance rate [m/d].';
comment on column baseline_class.advance_rate_m_per_d is
  'The rate of the class; where its intervals have several, its metres over the days that they take. [m/d]';
