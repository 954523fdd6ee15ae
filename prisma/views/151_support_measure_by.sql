-- What the support of a drive measures, by item and zone: of all of it (cut total), by production day (day), by the ground
-- class noted where it stands (ground_class; null: none noted), or by interval of interval_m on round chainages (interval;
-- the key is its number on the axis, from first_cell to last_cell where they are given). Each line is cut into pieces that
-- leave nothing out, and every figure of the line is apportioned to them, what goes with pieces (number, length, mass) by where
-- each of those stands and areas along the length: whatever the cut, a figure sums to the same, to
-- the last digit. A figure sums the lines that have it; a quotient stands over the lines that have both its figures. Classes
-- are told by their ids until the end; a line's cells are found in their sorted starts by halving (see noted_cell_of).
create or replace function support_measure_by(drive int, cut text, interval_m numeric, first_cell int, last_cell int)
returns table (key text, item_code text, kind text, description text, unit text, zone text, quantity numeric, row_count int,
  incomplete_count int, missing text[], total_length_m numeric, area_m2 numeric, number_per_m2 numeric, gross_area_m2 numeric,
  mass_kg numeric, theoretical_volume_m3 numeric, expected_volume_m3 numeric, delivered_volume_m3 numeric, placed_volume_m3 numeric,
  compared_theoretical_volume_m3 numeric, compared_delivered_volume_m3 numeric, volume_factor numeric, mean_thickness_mm numeric)
language sql stable begin atomic
  with axis as (
    select d.direction * d.start_chainage_m as origin_m, ceil(d.direction * d.end_chainage_m / interval_m) - 1 as end_cell
    from drive d where d.id = support_measure_by.drive
  ), noted as materialized (
    select array_agg(c.from_mm order by c.n) as from_mm, array_agg(c.ground_class_id order by c.n) as class_id
    from noted_cell_of(support_measure_by.drive) c where cut = 'ground_class'
  ), line as materialized ( -- once, not for each figure and piece
    select m.*, case when m.to_m > m.from_m then m.to_m else m.from_m + 0.001 end as end_m,
      case when cut = 'ground_class' then width_bucket((m.from_m * 1000)::int, (select from_mm from noted)) end as first_note,
      case when cut = 'ground_class' then width_bucket(greatest((m.to_m * 1000)::int - 1, (m.from_m * 1000)::int), (select from_mm from noted)) end as last_note
    from support_measure_row m
    where m.drive_id = support_measure_by.drive
      and m.from_m <= coalesce((select (support_measure_by.last_cell + 1) * interval_m - origin_m from axis), 'infinity')
      and m.to_m >= coalesce((select support_measure_by.first_cell * interval_m - origin_m from axis), 0)
  ), part as (
    select piece.key, l.item_code, l.kind, l.description, l.unit, l.zone, l.support_installed_id, l.missing,
      case when piece.whole then l.quantity else apportion(l.quantity, l.pieces, l.from_m, l.to_m, l.positions_m, piece.from_m, piece.to_m) end as quantity,
      case when piece.whole then l.total_length_m else apportion(l.total_length_m, l.pieces, l.from_m, l.to_m, l.positions_m, piece.from_m, piece.to_m) end as total_length_m,
      case when piece.whole then l.area_m2 else apportion(l.area_m2, l.from_m, l.to_m, piece.from_m, piece.to_m) end as area_m2,
      case when piece.whole then l.gross_area_m2 else apportion(l.gross_area_m2, l.from_m, l.to_m, piece.from_m, piece.to_m) end as gross_area_m2,
      case when piece.whole then l.mass_kg else apportion(l.mass_kg, l.pieces, l.from_m, l.to_m, l.positions_m, piece.from_m, piece.to_m) end as mass_kg,
      case when piece.whole then l.theoretical_volume_m3 else apportion(l.theoretical_volume_m3, l.from_m, l.to_m, piece.from_m, piece.to_m) end as theoretical_m3,
      case when piece.whole then l.expected_volume_m3 else apportion(l.expected_volume_m3, l.from_m, l.to_m, piece.from_m, piece.to_m) end as expected_m3,
      case when piece.whole then l.delivered_volume_m3 else apportion(l.delivered_volume_m3, l.from_m, l.to_m, piece.from_m, piece.to_m) end as delivered_m3,
      case when piece.whole then l.placed_volume_m3 else apportion(l.placed_volume_m3, l.from_m, l.to_m, piece.from_m, piece.to_m) end as placed_m3
    from line l
    cross join axis
    cross join lateral (
      select null::text as key, l.from_m, l.end_m as to_m, true as whole where cut = 'total'
      union all
      select l.production_day::text, l.from_m, l.end_m, true where cut = 'day'
      union all
      select nullif((select class_id from noted)[n], 0)::text, (select from_mm from noted)[n] * 0.001, coalesce((select from_mm from noted)[n + 1] * 0.001, l.end_m),
        l.first_note = l.last_note
      from generate_series(l.first_note, l.last_note) n where cut = 'ground_class'
      union all
      select cell::text, cell * interval_m - axis.origin_m, (cell + 1) * interval_m - axis.origin_m,
        l.to_m = l.from_m or (cell * interval_m - axis.origin_m <= l.from_m and (cell + 1) * interval_m - axis.origin_m >= l.to_m)
      from generate_series(
        greatest(least(floor((axis.origin_m + l.from_m) / interval_m), axis.end_cell), support_measure_by.first_cell),
        least(case when l.to_m > l.from_m then ceil((axis.origin_m + l.to_m) / interval_m) - 1
          else least(floor((axis.origin_m + l.from_m) / interval_m), axis.end_cell) end, support_measure_by.last_cell)) cell
      where cut = 'interval'
    ) piece
  ), lacking as (
    select part.key, part.item_code, part.zone, array_agg(distinct input order by input) as missing
    from part cross join unnest(part.missing) input
    group by part.key, part.item_code, part.zone
  ), figure as (
    select part.key, part.item_code, part.kind, part.description, part.unit, part.zone, sum(part.quantity) as quantity,
      count(distinct part.support_installed_id)::int as row_count,
      count(distinct part.support_installed_id) filter (where part.missing <> '{}')::int as incomplete_count,
      sum(part.total_length_m) as total_length_m, sum(part.area_m2) as area_m2, sum(part.gross_area_m2) as gross_area_m2,
      sum(part.mass_kg) as mass_kg, sum(part.theoretical_m3) as theoretical_m3, sum(part.expected_m3) as expected_m3,
      sum(part.delivered_m3) as delivered_m3, sum(part.placed_m3) as placed_m3,
      sum(part.quantity) filter (where part.area_m2 is not null) as placed_number,
      sum(part.theoretical_m3) filter (where part.delivered_m3 is not null) as compared_theoretical_m3,
      sum(part.delivered_m3) filter (where part.theoretical_m3 is not null) as compared_delivered_m3,
      sum(part.placed_m3) filter (where part.area_m2 is not null) as spread_m3,
      sum(part.area_m2) filter (where part.placed_m3 is not null) as spread_m2
    from part
    group by part.key, part.item_code, part.kind, part.description, part.unit, part.zone
  )
  select case when cut = 'ground_class' then (select c.code from ground_class c where c.id = f.key::int) else f.key end, f.item_code, f.kind, f.description, f.unit, f.zone, f.quantity, f.row_count, f.incomplete_count,
    coalesce(lacking.missing, '{}'), f.total_length_m, f.area_m2,
    case when f.kind = 'bolt' then round(f.placed_number / nullif(f.area_m2, 0), 4) end,
    f.gross_area_m2, f.mass_kg, f.theoretical_m3, f.expected_m3, f.delivered_m3, f.placed_m3,
    f.compared_theoretical_m3, f.compared_delivered_m3,
    round(f.compared_delivered_m3 / nullif(f.compared_theoretical_m3, 0), 4),
    round(1000 * f.spread_m3 / nullif(f.spread_m2, 0), 1)
  from figure f
  left join lacking on lacking.key is not distinct from f.key and lacking.item_code = f.item_code and lacking.zone = f.zone;
end;

comment on function support_measure_by(int, text, numeric, int, int) is
  'What the support of a drive measures by item and zone: total, by day, ground_class or interval of interval_m [m], of these from first_cell to last_cell where given. Every cut sums to the total exactly.';
