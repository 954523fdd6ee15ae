-- The result of a basis's rule for its lines, one row. The extension depends on what is countersigned, and is the same for either horizon: for what is
-- still to be bored, both sides are as tendered. The proportion is of the whole tendered time, so it does not extrapolate. Only the results are rounded:
-- hours and weeks to 0.0001, each once, from unrounded sums.
create or replace function entitlement_result(project text, drive text, entitlement text, horizon text)
returns table (
  rule text, baseline text, tendered_weeks numeric, working_hours_per_week numeric, line_count int, tendered_hours numeric, actual_hours numeric,
  difference_hours numeric, extension_weeks numeric, adjusted_weeks numeric, unrated_classes text[], driven_m numeric, unsettled_m numeric,
  remaining_m numeric, drive_id int, counted_m numeric)
language sql stable begin atomic
  with basis as materialized (
    select e.rule, b.name as baseline, e.tendered_weeks, e.working_hours_per_week, f.face_m, f.remaining_m, e.drive_id,
      coalesce(l.counted_m, 0.000) as counted_m
    from entitlement e
    join drive_progress f on f.drive_id = e.drive_id
    left join baseline b on b.id = e.baseline_id
    left join entitlement_length l on l.drive_id = e.drive_id
    where f.project_code = entitlement_result.project and f.drive_code = entitlement_result.drive and e.name = entitlement_result.entitlement
  ), total as (
    select count(*)::int as line_count, array_agg(l.code order by l.code) filter (where l.tendered_hours is null) as unrated,
      case when bool_or(l.tendered_hours is null) then null else sum(l.tendered_hours) end as tendered_hours,
      case when bool_or(l.tendered_hours is null) then null else sum(l.actual_hours) end as actual_hours,
      case when bool_or(l.tendered_hours is null) then null else sum(l.difference_hours) end as difference_hours, sum(l.whole_tendered_hours) as whole_hours
    from entitlement_line(entitlement_result.project, entitlement_result.drive, entitlement_result.entitlement, entitlement_result.horizon) l
  ), figure as (
    select basis.*, total.*, case basis.rule
      when 'difference' then total.difference_hours / basis.working_hours_per_week
      when 'proportional' then basis.tendered_weeks * total.difference_hours / nullif(total.whole_hours, 0)
    end as extension_weeks
    from basis cross join total
  )
  select f.rule::text, f.baseline, f.tendered_weeks, f.working_hours_per_week, f.line_count, round(f.tendered_hours, 4), round(f.actual_hours, 4),
    round(f.difference_hours, 4), round(f.extension_weeks, 4), round(f.tendered_weeks + f.extension_weeks, 4), coalesce(f.unrated, '{}'),
    f.face_m, (select coalesce(sum(g.length_m), 0.000) from class_decision_gap g where g.drive_id = f.drive_id), f.remaining_m, f.drive_id, f.counted_m
  from figure f;
end;

comment on function entitlement_result(text, text, text, text) is
  'Time by a basis of entitlement over a horizon (to_date, at_completion): hours tendered and actual, and by its rule the extension and the adjusted time in '
  'weeks, negative where less was encountered [h, weeks]. Null where unrated_classes has a class, or nothing was tendered under the proportional rule. '
  'driven_m, unsettled_m, remaining_m: metres driven, of these without an agreed class, and still ahead; counted_m: bored in countersigned shifts, which '
  'alone count [m]. Decision support: the contract and its time-bar rules prevail.';
