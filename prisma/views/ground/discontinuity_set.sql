-- report.discontinuity_sets_between for all of each drive.
create or replace view discontinuity_set as
select s.*
from drive d
join project p on p.id = d.project_id
cross join lateral discontinuity_sets_between(p.code, d.code, null, null) s;

comment on view discontinuity_set is
  'One row per drive and set of discontinuities: how many, sums over their poles, and means; parts of a drive by discontinuity_sets_between.';
comment on column discontinuity_set.set_label is 'Label of the set; null: those that were given none.';
comment on column discontinuity_set.sum_east_east is 'Sum over the poles of the square of the component to the east; the six sums make the orientation tensor.';
comment on column discontinuity_set.mean_spacing_m is 'Mean of the spacings given. [m]';
comment on column discontinuity_set.spacing_count is 'Of how many it is the mean.';
comment on column discontinuity_set.mean_persistence_m is 'Mean of the persistences given. [m]';
comment on column discontinuity_set.persistence_count is 'Of how many it is the mean.';
comment on column discontinuity_set.mean_aperture_mm is 'Mean of the apertures given. [mm]';
comment on column discontinuity_set.aperture_count is 'Of how many it is the mean.';
comment on column discontinuity_set.seeping_count is 'How many are damp, wet, dripping or flowing.';
