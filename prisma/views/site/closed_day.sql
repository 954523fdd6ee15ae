-- One row per drive and date on which it is closed, by a closure of the site or of the drive; planned if any of them is.
create or replace view closed_day as
select d.id as drive_id, day::date as closed_on, bool_or(c.planned) as planned, string_agg(c.name, ', ' order by c.from_date, c.code) as name
from site_closure c
join drive d on d.project_id = c.project_id and d.id = coalesce(c.drive_id, d.id)
cross join lateral generate_series(c.from_date::timestamp, c.to_date::timestamp, interval '1 day') day
group by d.id, day;

comment on view closed_day is 'The dates on which no shift of a drive is expected, by the closures of the site and its own.';
comment on column closed_day.planned is 'Whether any of the closures of the day was planned.';
comment on column closed_day.name is 'Names of the closures of the day.';
