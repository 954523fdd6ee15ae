-- One row per drive, ground class and quantity. A stroke counts as a whole in the class noted at its middle; null: none noted.
create or replace view stroke_statistics_by_ground_class as
select c.project_code, c.drive_code, c.ground_class_code, t.quantity, t.unit, t.stroke_count, t.mean, t.median, t.p10, t.p90,
  t.length_weighted_mean, t.time_weighted_mean, c.drive_id, t.place
from (
  select project_code, drive_code, drive_id, ground_class_code, array_agg(stroke order by stroke_number) as strokes
  from stroke_counted group by project_code, drive_code, drive_id, ground_class_code
) c
cross join lateral stroke_statistics_of(c.strokes) t;

comment on view stroke_statistics_by_ground_class is
  'Statistics of the strokes by the ground class noted at their middle, one row per class and quantity.';
comment on column stroke_statistics_by_ground_class.ground_class_code is 'Ground class at the middle of the strokes; null: none noted.';
comment on column stroke_statistics_by_ground_class.quantity is 'Column of stroke_performance.';
comment on column stroke_statistics_by_ground_class.stroke_count is 'Strokes that have the quantity.';
comment on column stroke_statistics_by_ground_class.mean is 'Mean over the strokes, each counted once, in the unit.';
comment on column stroke_statistics_by_ground_class.median is 'Median, interpolated; null for regular_advance.';
comment on column stroke_statistics_by_ground_class.p10 is '10th percentile, interpolated (percentile_cont); null for regular_advance.';
comment on column stroke_statistics_by_ground_class.p90 is '90th percentile, interpolated (percentile_cont); null for regular_advance.';
comment on column stroke_statistics_by_ground_class.length_weighted_mean is 'Mean weighted by length; null for lengths and times.';
comment on column stroke_statistics_by_ground_class.time_weighted_mean is 'Mean weighted by boring time: of the rates and the power only.';
comment on column stroke_statistics_by_ground_class.place is 'Order in which the quantities are listed.';
