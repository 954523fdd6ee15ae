-- What the support of a drive measures, by item and zone: in total (cut total), by production day (day), by the ground class noted at its
-- place (ground_class; null: none noted), or by interval of interval_m on round chainages (interval; the key is its number from the start of
-- the drive, from first_cell to last_cell if given). Each line is divided completely, and every figure of the line is apportioned to the parts:
-- figures of pieces (number, length, mass) by their positions, and areas by length: whatever the breakdown, a figure sums to the same, to the
-- last digit. A figure sums the lines that have it; a quotient is over the lines that have both its figures.
-- Keys and items are identified by numbers until the end: a day by its number since 2000, a class, an interval. A line's cells are found by
-- division, or by binary search in their sorted starts (see noted_cell_of); most lines lie in one and are not divided. Lines are summed first by
-- which figures they have and which inputs they lack (pattern).
create or replace function support_measure_by(drive int, cut text, interval_m numeric, first_cell int, last_cell int)
returns table (key text, item_code text, kind text, description text, unit text, zone text, quantity numeric, row_count int,
  incomplete_count int, missing text[], total_length_m numeric, area_m2 numeric, number_per_m2 numeric, gross_area_m2 numeric,
  mass_kg numeric, theoretical_volume_m3 numeric, expected_volume_m3 numeric, delivered_volume_m3 numeric, placed_volume_m3 numeric,
  compared_theoretical_volume_m3 numeric, compared_delivered_volume_m3 numeric, volume_factor numeric, mean_thickness_mm numeric)
language sql stable begin atomic
  with axis as materialized (
    select origin.m as origin_m, (origin.m * 1000000)::bigint as origin_um, (interval_m * 1000000)::bigint as cell_um, p.time_zone, p.day_start,
      (interval_ending(d.direction * d.end_chainage_m, interval_m) - interval_holding(d.direction * d.start_chainage_m, interval_m))::int as end_cell,
      numrange(support_measure_by.first_cell * interval_m - origin.m, (support_measure_by.last_cell + 1) * interval_m - origin.m, '[]') as span
    from drive d
    join project p on p.id = d.project_id
    cross join lateral (select d.direction * d.start_chainage_m - interval_holding(d.direction * d.start_chainage_m, interval_m) * interval_m as m) origin
    where d.id = support_measure_by.drive
  ), noted as materialized (
    select array_agg(c.from_mm order by c.n) as from_mm, array_agg(c.ground_class_id order by c.n) as class_id
    from noted_cell_of(support_measure_by.drive) c where cut = 'ground_class'
  ), line as (
    select p.support_item_id, p.zone, p.quantity, p.pieces, p.from_m, p.to_m, p.positions_m, p.total_length_m, p.area_m2, p.gross_area_m2,
      p.mass_kg, p.theoretical_volume_m3, p.expected_volume_m3, p.delivered_volume_m3, p.placed_volume_m3, p.missing,
      case cut
        when 'day' then production_day(coalesce(p.installed_at, s.starts_at), axis.time_zone, axis.day_start) - date '2000-01-01'
        when 'ground_class' then width_bucket((p.from_m * 1000)::int, (select from_mm from noted))
        when 'interval' then least(((p.from_m * 1000000)::bigint + axis.origin_um) / axis.cell_um, axis.end_cell)::int
        else 0
      end as first,
      case when p.to_m > p.from_m then case cut
        when 'ground_class' then width_bucket((p.to_m * 1000)::int - 1, (select from_mm from noted))
        when 'interval' then (((p.to_m * 1000000)::bigint - 1 + axis.origin_um) / axis.cell_um)::int
      end end as last, axis.origin_m
    from axis
    join support_measured p on p.drive_id = support_measure_by.drive
      and (coalesce(support_measure_by.first_cell, support_measure_by.last_cell) is null or p.span && (select span from axis)) -- for a few: by the index
    left join shift s on cut = 'day' and s.drive_id = support_measure_by.drive and s.id = p.shift_id
    offset 0
  ), piece as (
    select l.*, l.first = coalesce(l.last, l.first) as is_whole,
      generate_series(greatest(l.first, support_measure_by.first_cell), least(coalesce(l.last, l.first), support_measure_by.last_cell)) as n
    from line l
  ), cut as ( -- a line counts once in a class that it enters twice; the cuts are columns, so that the shares are computed inline
    select p.*, case cut when 'ground_class' then (select class_id from noted)[p.n] else p.n end as key,
      (cut = 'ground_class' and p.n > p.first and (select class_id from noted)[p.n] = any ((select class_id
        from noted)[p.first:p.n - 1])) is not true as is_counted,
      case when not p.is_whole then case cut when 'ground_class' then (select from_mm from noted)[p.n] * 0.001
        else p.n * interval_m - p.origin_m end end as cut_from_m,
      case when not p.is_whole then case cut when 'ground_class' then coalesce((select from_mm from noted)[p.n + 1] * 0.001, p.to_m)
        else (p.n + 1) * interval_m - p.origin_m end end as cut_to_m
    from piece p
    offset 0
  ), part as (
    select c.key, c.support_item_id, c.zone, c.is_counted,
      16 * c.missing + (c.area_m2 is not null)::int + 2 * (c.theoretical_volume_m3 is not null)::int + 4 * (c.delivered_volume_m3 is not null)::int + 8
        * (c.placed_volume_m3 is not null)::int as pattern,
      case when c.is_whole then c.quantity else apportion(c.quantity, c.pieces, c.from_m, c.to_m, c.positions_m, c.cut_from_m, c.cut_to_m) end as quantity,
      case when c.is_whole then c.total_length_m else apportion(c.total_length_m, c.pieces, c.from_m, c.to_m, c.positions_m, c.cut_from_m,
        c.cut_to_m) end as total_length_m,
      case when c.is_whole then c.area_m2 else apportion(c.area_m2, c.from_m, c.to_m, c.cut_from_m, c.cut_to_m) end as area_m2,
      case when c.is_whole then c.gross_area_m2 else apportion(c.gross_area_m2, c.from_m, c.to_m, c.cut_from_m, c.cut_to_m) end as gross_area_m2,
      case when c.is_whole then c.mass_kg else apportion(c.mass_kg, c.pieces, c.from_m, c.to_m, c.positions_m, c.cut_from_m, c.cut_to_m) end as mass_kg,
      case when c.is_whole then c.theoretical_volume_m3 else apportion(c.theoretical_volume_m3, c.from_m, c.to_m, c.cut_from_m,
        c.cut_to_m) end as theoretical_m3,
      case when c.is_whole then c.expected_volume_m3 else apportion(c.expected_volume_m3, c.from_m, c.to_m, c.cut_from_m, c.cut_to_m) end as expected_m3,
      case when c.is_whole then c.delivered_volume_m3 else apportion(c.delivered_volume_m3, c.from_m, c.to_m, c.cut_from_m, c.cut_to_m) end as delivered_m3,
      case when c.is_whole then c.placed_volume_m3 else apportion(c.placed_volume_m3, c.from_m, c.to_m, c.cut_from_m, c.cut_to_m) end as placed_m3
    from cut c
  ), held as materialized (
    select p.key, p.support_item_id, p.zone, p.pattern, sum(p.quantity) as quantity, count(*) filter (where p.is_counted) as row_count,
      sum(p.total_length_m) as total_length_m, sum(p.area_m2) as area_m2, sum(p.gross_area_m2) as gross_area_m2, sum(p.mass_kg) as mass_kg,
      sum(p.theoretical_m3) as theoretical_m3, sum(p.expected_m3) as expected_m3, sum(p.delivered_m3) as delivered_m3, sum(p.placed_m3) as placed_m3
    from part p
    group by p.key, p.support_item_id, p.zone, p.pattern
  ), figure as (
    select h.key, h.support_item_id, h.zone, sum(h.quantity) as quantity, sum(h.row_count)::int as row_count,
      coalesce(sum(h.row_count) filter (where h.pattern >= 16), 0)::int as incomplete_count, bit_or(h.pattern) >> 4 as missing,
      sum(h.total_length_m) as total_length_m, sum(h.area_m2) as area_m2, sum(h.gross_area_m2) as gross_area_m2, sum(h.mass_kg) as mass_kg,
      sum(h.theoretical_m3) as theoretical_m3, sum(h.expected_m3) as expected_m3, sum(h.delivered_m3) as delivered_m3, sum(h.placed_m3) as placed_m3,
      sum(h.quantity) filter (where h.pattern & 1 > 0) as placed_number,
      sum(h.theoretical_m3) filter (where h.pattern & 4 > 0) as compared_theoretical_m3,
      sum(h.delivered_m3) filter (where h.pattern & 2 > 0) as compared_delivered_m3,
      sum(h.placed_m3) filter (where h.pattern & 1 > 0) as spread_m3,
      sum(h.area_m2) filter (where h.pattern & 8 > 0) as spread_m2
    from held h
    group by h.key, h.support_item_id, h.zone
  )
  select case cut when 'ground_class' then (select c.code from ground_class c where c.id = f.key) when 'day' then (date '2000-01-01' + f.key)::text
      when 'interval' then f.key::text end,
    i.code, i.kind::text, i.description, i.unit::text, f.zone, f.quantity, f.row_count, f.incomplete_count,
    array(select input from unnest(support_inputs(f.missing)) input order by input), f.total_length_m, f.area_m2,
    case when i.kind = 'bolt' then round(f.placed_number / nullif(f.area_m2, 0), 4) end,
    f.gross_area_m2, f.mass_kg, f.theoretical_m3, f.expected_m3, f.delivered_m3, f.placed_m3,
    f.compared_theoretical_m3, f.compared_delivered_m3,
    round(f.compared_delivered_m3 / nullif(f.compared_theoretical_m3, 0), 4),
    round(1000 * f.spread_m3 / nullif(f.spread_m2, 0), 1)
  from figure f
  join support_item i on i.id = f.support_item_id;
end;

comment on function support_measure_by(int, text, numeric, int, int) is
  'What the support of a drive measures by item and zone: total, by day, ground_class or interval of interval_m [m], of these from first_cell to last_cell '
  'where given. Every cut sums to the total exactly.';
