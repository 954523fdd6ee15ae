-- One row per drive and quantity.
create or replace view stroke_statistics_by_drive as
select d.project_code, d.drive_code, t.quantity, t.unit, t.stroke_count, t.mean, t.median, t.p10, t.p90, t.length_weighted_mean,
  t.time_weighted_mean, d.drive_id, t.place
from (
  select project_code, drive_code, drive_id, array_agg(stroke order by stroke_number) as strokes
  from stroke_counted group by project_code, drive_code, drive_id
) d
cross join lateral stroke_statistics_of(d.strokes) t;

comment on view stroke_statistics_by_drive is
  'Statistics of the strokes of a drive, one row per quantity. Of regular_advance the means are the shares of regular strokes and of their length.';
comment on column stroke_statistics_by_drive.quantity is 'Column of stroke_performance.';
comment on column stroke_statistics_by_drive.stroke_count is 'Strokes that have the quantity.';
comment on column stroke_statistics_by_drive.mean is 'Mean over the strokes, each counted once, in the unit.';
comment on column stroke_statistics_by_drive.median is 'Median, interpolated; null for regular_advance.';
comment on column stroke_statistics_by_drive.p10 is '10th percentile, interpolated (percentile_cont); null for regular_advance.';
comment on column stroke_statistics_by_drive.p90 is '90th percentile, interpolated (percentile_cont); null for regular_advance.';
comment on column stroke_statistics_by_drive.length_weighted_mean is 'Mean weighted by length; null for lengths and times.';
comment on column stroke_statistics_by_drive.time_weighted_mean is
  'Mean weighted by boring time: of the rates and the power only. Of the rate by the clock it is metres over hours.';
comment on column stroke_statistics_by_drive.place is 'Order in which the quantities are listed.';
