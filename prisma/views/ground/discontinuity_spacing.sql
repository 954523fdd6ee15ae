-- One row per drive and set of discontinuities with given spacings: their minimum, mean and maximum.
create or replace view discontinuity_spacing as
select
  p.code as project_code,
  d.code as drive_code,
  t.set_label,
  min(t.at_m) as first_m,
  max(t.at_m) as last_m,
  count(*)::int as spacing_count,
  min(t.spacing_m) as least_spacing_m,
  round(avg(t.spacing_m), 3) as mean_spacing_m,
  max(t.spacing_m) as greatest_spacing_m,
  d.id as drive_id
from discontinuity t
join drive d on d.id = t.drive_id
join project p on p.id = d.project_id
where t.spacing_m is not null
group by p.code, d.code, d.id, t.set_label;

comment on view discontinuity_spacing is 'One row per drive and set of discontinuities of which spacings were given. [m]';
comment on column discontinuity_spacing.set_label is 'Label of the set; null: those that were given none.';
comment on column discontinuity_spacing.first_m is 'Driven metres of the first that a spacing was given of. [m]';
comment on column discontinuity_spacing.spacing_count is 'Of how many a spacing was given.';
comment on column discontinuity_spacing.last_m is 'Driven metres of the last one. [m]';
comment on column discontinuity_spacing.least_spacing_m is 'Least of them. [m]';
comment on column discontinuity_spacing.mean_spacing_m is 'Mean of them. [m]';
comment on column discontinuity_spacing.greatest_spacing_m is 'Greatest of them. [m]';
