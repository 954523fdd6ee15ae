-- Where pieces that are demanded at a spacing stand too far apart, one row a gap. Pieces of an item and zone, of the sector where
-- one is given, are taken along each run of stretches that follow one another and demand them: with k pieces in a row, the k-th next
-- piece must follow within spacing + tolerance, the first k within it from where the demand begins, and the last k within it before
-- it ends (the end of the run, or the face). A gap is longer than the largest spacing + tolerance of the stretches that it touches, or, within one
-- of them, longer than that one's own. Pieces missing in it: u counts spacings along the stretches, each by its own; ceil(u) − 1, each
-- at the last place that is allowed for it (places_mm): at u = 1, 2, … from where the gap begins. So an open end, from the last piece to
-- the face, becomes due place by place.
-- Positions are compared in whole micrometres; without a demand by spacing nothing is read.
create or replace function support_gap_of(drive_id int)
returns table (
  support_item_id int, zone text, pieces_per_row int, from_deg numeric, to_deg numeric, from_m numeric, to_m numeric, spacing_m numeric,
  tolerance_m numeric, places_mm int[], is_open boolean, unplaced int, rests_on text)
language sql stable begin atomic
  with driven as materialized (
    select array[0, max(b.to_m)] as bounds, (max(b.to_m) * 1000)::int as face_mm from boring b where b.drive_id = support_gap_of.drive_id
    having max(b.to_m) > 0 and (exists (select from standard_support_item i where i.spacing_m is not null)
      or exists (select from design_section s join design_section_item i on i.design_section_id = s.id where s.drive_id = support_gap_of.drive_id and i.spacing_m is not null))
  ), segment as materialized (
    select s.* from driven cross join lateral support_segment(support_gap_of.drive_id, driven.bounds) s where s.is_driven
  ), list as materialized (
    select d.demand, i.*, support_basis_text(d.design_section_id, d.ground_class_ids, d.bases) as words,
      dense_rank() over (order by i.support_item_id, i.zone, i.pieces_per_row, i.from_deg, i.to_deg) as key
    from (select distinct demand, design_section_id, standard_support_ids, ground_class_ids, bases from segment where is_assessed) d
    cross join lateral support_demand_of(d.design_section_id, d.standard_support_ids) i where i.spacing_mm is not null
  ), laid as (
    select l.key, s.from_mm, s.to_mm, l.spacing_mm, l.tolerance_mm, l.words, l.pieces_per_row, l.support_item_id, l.zone, l.from_deg, l.to_deg,
      lag(s.to_mm) over (partition by l.key order by s.from_mm) is distinct from s.from_mm as is_new
    from segment s join list l on l.demand = s.demand
  ), run as (
    select *, row_number() over (order by key, from_mm) as number, count(*) filter (where is_new) over (order by key, from_mm) as run from laid
  ), counted as (
    select *, sum((to_mm - from_mm)::float8 / (spacing_mm + tolerance_mm)) over (partition by run order by from_mm) as u_to from run
  ), stretch as materialized (
    select *, coalesce(lag(u_to) over (partition by run order by from_mm), 0) as u_from from counted
  ), ends as (
    select key, run, min(pieces_per_row) as k, min(from_mm)::bigint * 1000 as from_um, max(to_mm)::bigint * 1000 as to_um from stretch group by key, run
  ), event as ( -- rank: a stretch begins before what stands at its beginning
    select key, from_mm::bigint * 1000 as um, 0 as rank, number, false as is_piece, false as is_unplaced from stretch
    union all
    select e.key, e.from_um, 1, null, true, false from ends e cross join lateral generate_series(1, e.k)
    union all
    select w.key, (p.at_m * 1000000)::bigint, 2, null, w.from_deg is null or p.arc_deg is not null, w.from_deg is not null and p.arc_deg is null
    from (select distinct key, support_item_id, zone, from_deg, to_deg from list) w
    join support_piece_of(support_gap_of.drive_id) p on p.support_item_id = w.support_item_id and p.zone = w.zone
    where w.from_deg is null or p.arc_deg is null
      or case when w.from_deg <= w.to_deg then p.arc_deg between w.from_deg and w.to_deg else p.arc_deg >= w.from_deg or p.arc_deg <= w.to_deg end
    union all
    select e.key, e.to_um, 3, null, true, false from ends e cross join lateral generate_series(1, e.k)
  ), swept as (
    select key, um, rank, is_piece, max(number) over past as number, count(*) filter (where is_unplaced) over past as unplaced
    from event window past as (partition by key order by um, rank rows unbounded preceding)
  ), standing as (
    select w.key, w.um, w.rank, w.number, w.unplaced, s.run, s.pieces_per_row, s.u_from + (w.um - s.from_mm::bigint * 1000)::float8 / ((s.spacing_mm + s.tolerance_mm)::bigint * 1000) as u
    from swept w join stretch s on s.number = w.number and (w.um < s.to_mm::bigint * 1000 or w.rank = 3)
    where w.is_piece
  ), pair as (
    select key, run, um, number, u, unplaced, lead(um, pieces_per_row) over next as next_um, lead(number, pieces_per_row) over next as next_number,
      lead(u, pieces_per_row) over next as next_u, lead(rank, pieces_per_row) over next as next_rank, lead(unplaced, pieces_per_row) over next as next_unplaced
    from standing window next as (partition by run order by um, rank)
  ), far as materialized (
    select row_number() over () as id, *, greatest(ceil(round((next_u - u)::numeric, 6))::int - 1, 1) as missing from pair where next_u - u > 0.999999
  ), touched as (
    select f.id, s.from_mm, s.to_mm, s.u_from, s.u_to, s.spacing_mm, s.tolerance_mm, (s.spacing_mm + s.tolerance_mm)::bigint * 1000 as most_um,
      least(s.to_mm::bigint * 1000, f.next_um) - greatest(s.from_mm::bigint * 1000, f.um) as part_um, s.number
    from far f cross join lateral generate_series(f.number, f.next_number) t(number) join stretch s on s.number = t.number
  ), judged as (
    select t.id, max(t.most_um) as most_um, bool_or(t.part_um > t.most_um) as is_over, (array_agg(t.spacing_mm order by t.most_um desc, t.spacing_mm))[1] as spacing_mm,
      (array_agg(t.tolerance_mm order by t.most_um desc, t.spacing_mm))[1] as tolerance_mm
    from touched t where t.part_um > 0 group by t.id
  ), gap as (
    select f.*, j.spacing_mm, j.tolerance_mm from far f join judged j on j.id = f.id where f.next_um - f.um > j.most_um or j.is_over
  ), place as (
    select g.id, array_agg(greatest(least((t.from_mm + (g.u + n - t.u_from) * (t.spacing_mm + t.tolerance_mm))::int, (g.next_um - 1) / 1000), g.um / 1000)::int order by n) as mm
    from gap g
    cross join lateral generate_series(1, g.missing) n
    join touched t on t.id = g.id and g.u + n >= t.u_from and (g.u + n < t.u_to or t.number = g.next_number)
    group by g.id
  )
  select w.support_item_id, w.zone, w.pieces_per_row, w.from_deg, w.to_deg, g.um * 0.000001, g.next_um * 0.000001, g.spacing_mm * 0.001, g.tolerance_mm * 0.001,
    g.places, g.next_rank = 3 and g.next_um = driven.face_mm::bigint * 1000, g.unplaced, w.words
  from (
    select g.key, g.um, g.next_um, max(g.next_rank) as next_rank, min(g.number) as number, max(g.spacing_mm) as spacing_mm, max(g.tolerance_mm) as tolerance_mm,
      max(g.next_unplaced - g.unplaced)::int as unplaced, array_agg(p.one order by p.one) as places
    from gap g join place on place.id = g.id cross join lateral unnest(place.mm) p(one)
    group by g.key, g.um, g.next_um
  ) g
  join stretch w on w.number = g.number
  cross join driven;
end;

comment on function support_gap_of(int) is
  'Gaps between pieces that a drive''s lists demand at a spacing. from_m, to_m: the pieces, or ends of the demand, between which it lies [driven m]; spacing_m, tolerance_m: the largest demanded of the stretches that it touches [m]; places_mm: where at the latest each missing piece must stand [driven mm]; is_open: it reaches the face; unplaced: pieces in it whose place on the ring is not known, and which therefore do not count for the sector; rests_on: by what it is demanded.';
