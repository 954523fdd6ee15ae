-- Where pieces demanded at a spacing are too far apart, one row per gap. Pieces of an item and zone, of the sector if one is given, are
-- taken along each run of consecutive stretches that demand them: with k pieces in a row, the k-th next piece must follow within
-- spacing + tolerance, the first k within it from where the demand begins, and the last k within it before it ends (the end of the run, or
-- the face). A gap is longer than the largest spacing + tolerance of the stretches that it touches or, within one of them, longer than that
-- one's own. Missing pieces: u counts spacings along the stretches, each by its own; ceil(u) − 1 pieces, each at the last position allowed for
-- it (places_mm): at u = 1, 2, … from where the gap begins. So an open end, from the last piece to the face, becomes due piece by piece.
-- If a spacing around is demanded, a row is what lies within half a spacing along of its first piece; the next row must follow within the
-- spacing along (k = 1), and a missing row counts the pieces that its arc needs. Within a row, consecutive pieces must lie within
-- spacing + tolerance around (a), the first and the last of a sector within half of it from its ends, or within it of the next piece outside;
-- the ring closes on itself. Missing in a distance g: ceil(g / a) − 1, at an end of the sector ceil(g / a − 1/2); for distances beside a
-- position that is assumed even along an arc, ceil of the sum of their excesses, in units of a. Pieces without any position on the ring are
-- deducted from the narrowest distances; a row with only such pieces needs ceil(arc / a).
-- Positions are compared in integer micrometres; without a demand by spacing nothing is read.
create or replace function support_gap_of(drive_id int)
returns table (
  support_item_id int, zone text, pieces_per_row int, from_deg numeric, to_deg numeric, from_m numeric, to_m numeric, spacing_m numeric,
  tolerance_m numeric, places_mm int[], is_open boolean, unplaced int, rests_on text, direction text, around_spacing_m numeric, around_tolerance_m numeric,
  gap_from_deg numeric, gap_to_deg numeric, found_m numeric, allowed_m numeric)
language sql stable begin atomic
  with driven as materialized (
    select array[0, max(b.to_m)] as bounds, (max(b.to_m) * 1000)::int as face_mm from boring b where b.drive_id = support_gap_of.drive_id
    having max(b.to_m) > 0 and (exists (select from standard_support_item i where i.spacing_m is not null)
      or exists (select from design_section s join design_section_item i on i.design_section_id = s.id where s.drive_id = support_gap_of.drive_id
        and i.spacing_m is not null))
  ), segment as materialized (
    select s.* from driven cross join lateral support_segment(support_gap_of.drive_id, driven.bounds) s where s.is_driven
  ), list as materialized (
    select d.demand, i.support_item_id, i.zone, i.spacing_mm, i.tolerance_mm, coalesce(i.pieces_per_row, 1) as pieces_per_row, i.from_deg, i.to_deg,
      support_basis_text(d.design_section_id, d.ground_class_ids, d.bases) as words,
      dense_rank() over (order by i.support_item_id, i.zone, i.pieces_per_row, i.from_deg, i.to_deg) as key,
      i.around_spacing_mm, i.around_tolerance_mm, i.around_spacing_mm + i.around_tolerance_mm as around_mm, a.deg as arc_deg, a.arc_mm,
      coalesce(ceil(round((a.arc_mm / (i.around_spacing_mm + i.around_tolerance_mm))::numeric, 6))::int, 1) as row_pieces
    from (select distinct demand, design_section_id, standard_support_ids, ground_class_ids, bases from segment where is_assessed) d
    cross join lateral support_demand_of(d.design_section_id, d.standard_support_ids) i
    cross join lateral (
      select o.deg, pi() * n.bored_diameter_m::float8 * 1000 * o.deg::float8 / 360 as arc_mm
      from drive n cross join (select coalesce(arc_width(i.from_deg, i.to_deg), 360) as deg) o
      where n.id = support_gap_of.drive_id
    ) a
    where i.spacing_mm is not null
  ), laid as (
    select l.key, s.from_mm, s.to_mm, l.spacing_mm, l.tolerance_mm, l.words, l.pieces_per_row, l.support_item_id, l.zone, l.from_deg, l.to_deg,
      l.around_spacing_mm, l.around_tolerance_mm, l.around_mm, l.arc_deg, l.arc_mm, l.row_pieces,
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
  ), pattern as materialized ( -- from_end_deg: distance beyond the end of the sector; 0 or null: within it, or possibly
    select w.key, p.*, greatest((p.arc_deg - w.from_deg + 360) % 360 - w.arc_deg, 0) as from_end_deg, 360 - (p.arc_deg - w.from_deg + 360) % 360 as to_begin_deg
    from (
      select key, support_item_id, zone, from_deg, arc_deg, array_agg(from_mm order by from_mm) as begins_mm,
        array_agg(spacing_mm + tolerance_mm order by from_mm) as between_mm
      from stretch where around_mm is not null group by key, support_item_id, zone, from_deg, arc_deg
    ) w
    cross join lateral pattern_piece_of(support_gap_of.drive_id, w.support_item_id, w.zone, w.begins_mm, w.between_mm) p
  ), beyond as (
    select key, row_number as pattern_row, min(to_begin_deg) as to_begin_deg, min(from_end_deg) as from_end_deg from pattern where from_end_deg > 0
      group by key, row_number
  ), event as ( -- rank: a stretch begins before the pieces at its beginning
    select key, from_mm::bigint * 1000 as um, 0 as rank, number, false as is_piece, false as is_unplaced, null::int as pattern_row, null::numeric as arc_deg,
      false as is_assumed from stretch
    union all
    select key, at_um, 2, null, true, false, row_number, arc_deg, is_assumed from pattern where coalesce(from_end_deg, 0) = 0
    union all
    select e.key, e.from_um, 1, null, true, false, null, null, false from ends e cross join lateral generate_series(1, e.k)
    union all
    select w.key, (p.at_m * 1000000)::bigint, 2, null, w.from_deg is null or p.arc_deg is not null, w.from_deg is not null and p.arc_deg is null, null, null,
      false
    from (select distinct key, support_item_id, zone, from_deg, to_deg from list where around_mm is null) w
    join (select o.* from support_piece_of(support_gap_of.drive_id) o where (select exists (select from list where around_mm is null)) offset 0) p
      on p.support_item_id = w.support_item_id and p.zone = w.zone
    where w.from_deg is null or p.arc_deg is null
      or case when w.from_deg <= w.to_deg then p.arc_deg between w.from_deg and w.to_deg else p.arc_deg >= w.from_deg or p.arc_deg <= w.to_deg end
    union all
    select e.key, e.to_um, 3, null, true, false, null, null, false from ends e cross join lateral generate_series(1, e.k)
  ), swept as (
    select key, um, rank, is_piece, pattern_row, arc_deg, is_assumed, max(number) over past as number, count(*) filter (where is_unplaced) over past as unplaced
    from event window past as (partition by key order by um, rank rows unbounded preceding)
  ), standing as materialized (
    select w.key, w.um, w.rank, w.number, w.unplaced, w.pattern_row, w.arc_deg, w.is_assumed, s.run, s.pieces_per_row,
      s.u_from + (w.um - s.from_mm::bigint * 1000)::float8 / ((s.spacing_mm + s.tolerance_mm)::bigint * 1000) as u
    from swept w join stretch s on s.number = w.number and (w.um < s.to_mm::bigint * 1000 or w.rank = 3)
    where w.is_piece
  ), pair as (
    select key, run, um, number, u, unplaced, lead(um, pieces_per_row) over next as next_um, lead(number, pieces_per_row) over next as next_number,
      lead(u, pieces_per_row) over next as next_u, lead(rank, pieces_per_row) over next as next_rank, lead(unplaced, pieces_per_row) over next as next_unplaced
    from standing window next as (partition by run order by um, rank)
  ), far as materialized (
    select row_number() over () as id, *, greatest(ceil(round((next_u - u)::numeric, 6))::int - 1, 1) as missing from pair where next_u - u > 0.999999
  ), touched as (
    select f.id, s.from_mm, s.to_mm, s.u_from, s.u_to, s.spacing_mm, s.tolerance_mm, s.row_pieces, (s.spacing_mm + s.tolerance_mm)::bigint * 1000 as most_um,
      least(s.to_mm::bigint * 1000, f.next_um) - greatest(s.from_mm::bigint * 1000, f.um) as part_um, s.number
    from far f cross join lateral generate_series(f.number, f.next_number) t(number) join stretch s on s.number = t.number
  ), judged as (
    select t.id, max(t.most_um) as most_um, bool_or(t.part_um > t.most_um) as is_over,
      (array_agg(t.spacing_mm order by t.most_um desc, t.spacing_mm))[1] as spacing_mm,
      (array_agg(t.tolerance_mm order by t.most_um desc, t.spacing_mm))[1] as tolerance_mm
    from touched t where t.part_um > 0 group by t.id
  ), gap as (
    select f.*, j.spacing_mm, j.tolerance_mm from far f join judged j on j.id = f.id where f.next_um - f.um > j.most_um or j.is_over
  ), place as (
    select g.id, array_agg(greatest(least((t.from_mm + (g.u + n - t.u_from) * (t.spacing_mm + t.tolerance_mm))::int, (g.next_um - 1) / 1000), g.um / 1000)::int
      order by n) as mm
    from gap g
    cross join lateral generate_series(1, g.missing) n
    join touched t on t.id = g.id and g.u + n >= t.u_from and (g.u + n < t.u_to or t.number = g.next_number)
    cross join lateral generate_series(1, t.row_pieces) of_row
    group by g.id
  ), one_row as (
    select key, run, pattern_row, min(um) as um, max(um) as last_um, min(number) as number, count(*) filter (where arc_deg is null) as unplaced,
      array_agg(arc_deg) filter (where arc_deg is not null) as arcs, array_agg(arc_deg) filter (where is_assumed) as assumed
    from standing where pattern_row is not null group by key, run, pattern_row
  ), bow as materialized ( -- a ring without a known position is treated like a sector
    select o.*, s.arc_mm, s.around_mm, s.from_deg, s.arc_deg, s.arc_deg = 360 and o.arcs is not null as is_ring,
      array(select (((a - coalesce(s.from_deg, 0) + 360) % 360) * s.arc_mm::numeric / s.arc_deg)::float8 from unnest(o.arcs) a order by 1) as places,
      array(select (((a - coalesce(s.from_deg, 0) + 360) % 360) * s.arc_mm::numeric / s.arc_deg)::float8 from unnest(o.assumed) a) as assumed_places,
      greatest(-0.5 * s.around_mm, -b.to_begin_deg * s.arc_mm / s.arc_deg) as before_mm,
        s.arc_mm + least(0.5 * s.around_mm, b.from_end_deg * s.arc_mm / s.arc_deg) as after_mm
    from one_row o
    join stretch s on s.number = o.number
    left join beyond b on b.key = o.key and b.pattern_row = o.pattern_row
  -- is_assumed: taken as even along an arc; beyond each end of a sector one, half a distance outside of it or where the next piece stands; on a ring the first
  -- once more
  ), mark as (
    select b.run, b.pattern_row, p.mm, coalesce(p.mm = any (b.assumed_places), false) as is_assumed from bow b cross join lateral unnest(b.places) p(mm)
    union all
    select b.run, b.pattern_row, b.places[1] + b.arc_mm, coalesce(b.places[1] = any (b.assumed_places), false) from bow b where b.is_ring
    union all
    select b.run, b.pattern_row, e.mm, false from bow b cross join lateral (values (b.before_mm), (b.after_mm)) e(mm) where not b.is_ring
  ), apart as ( -- beside an assumed position it is unknown which distance lacks a piece, so their excesses count together
    select d.*, case when not d.is_assumed then ceil(d.u) - 1 when d.nth = 1 then ceil(d.over) else 0 end::int as lacking
    from (
      select b.run, b.pattern_row, m.mm, m.next_mm, m.is_assumed, u, sum(greatest(u - 1, 0)) over (partition by b.run, b.pattern_row, m.is_assumed) as over,
        row_number() over (partition by b.run, b.pattern_row, m.is_assumed order by u desc, m.mm) as nth
      from (select run, pattern_row, mm, lead(mm) over next as next_mm, is_assumed or lead(is_assumed) over next as is_assumed
        from mark window next as (partition by run, pattern_row order by mm, is_assumed)) m
      join bow b on b.run = m.run and b.pattern_row = m.pattern_row
      cross join lateral (select round(((m.next_mm - m.mm) / b.around_mm)::numeric, 6) as u) u
      where m.next_mm is not null
    ) d
  ), filled as ( -- pieces that may be anywhere are deducted from the narrowest distances
    select a.*, sum(a.lacking) over wider as upto, sum(a.lacking) over whole as of_row
    from apart a where a.lacking > 0
    window whole as (partition by run, pattern_row), wider as (partition by run, pattern_row order by next_mm - mm desc, mm rows unbounded preceding)
  ), bow_gap as (
    select b.*, f.mm, f.next_mm, least(f.lacking, f.of_row - b.unplaced - (f.upto - f.lacking))::int as missing
    from filled f join bow b on b.run = f.run and b.pattern_row = f.pattern_row
    where f.of_row - b.unplaced - (f.upto - f.lacking) > 0
  )
  select w.support_item_id, w.zone, greatest(w.row_pieces, w.pieces_per_row), w.from_deg, w.to_deg, g.um * 0.000001, g.next_um * 0.000001, g.spacing_mm * 0.001,
    g.tolerance_mm * 0.001,
    g.places, g.next_rank = 3 and g.next_um = driven.face_mm::bigint * 1000, g.unplaced, w.words, 'along', w.around_spacing_mm * 0.001,
      w.around_tolerance_mm * 0.001,
    null::numeric, null::numeric, (g.next_um - g.um) * 0.000001, (g.spacing_mm + g.tolerance_mm) * 0.001
  from (
    select g.key, g.um, g.next_um, max(g.next_rank) as next_rank, min(g.number) as number, max(g.spacing_mm) as spacing_mm, max(g.tolerance_mm) as tolerance_mm,
      max(g.next_unplaced - g.unplaced)::int as unplaced, array_agg(p.one order by p.one) as places
    from gap g join place on place.id = g.id cross join lateral unnest(place.mm) p(one)
    group by g.key, g.um, g.next_um
  ) g
  join stretch w on w.number = g.number
  cross join driven
  union all
  select w.support_item_id, w.zone, w.row_pieces, w.from_deg, w.to_deg, g.um * 0.000001, g.last_um * 0.000001, w.spacing_mm * 0.001, w.tolerance_mm * 0.001,
    array_fill((g.um / 1000)::int, array[g.missing]), false, g.unplaced::int, w.words, 'around', w.around_spacing_mm * 0.001, w.around_tolerance_mm * 0.001,
    round((coalesce(g.from_deg, 0) + (greatest(g.mm, 0) * g.arc_deg::float8 / g.arc_mm)::numeric) % 360, 2),
    round((coalesce(g.from_deg, 0) + (least(g.next_mm, case when g.is_ring then 'infinity' else g.arc_mm end) * g.arc_deg::float8 / g.arc_mm)::numeric) % 360,
      2),
    round((case when g.arcs is null then g.arc_mm / g.unplaced
      else least(g.next_mm, case when g.is_ring then 'infinity' else g.arc_mm end) - greatest(g.mm, 0) end * 0.001)::numeric, 3),
    case when not g.is_ring and g.arcs is not null and (g.mm < 0 or g.next_mm > g.arc_mm) then g.around_mm * 0.0005 else g.around_mm * 0.001 end
  from bow_gap g join stretch w on w.number = g.number;
end;

comment on function support_gap_of(int) is
  'Gaps between pieces that a drive''s lists demand at a spacing. from_m, to_m: the pieces, or ends of the demand, between which it lies [driven m]; '
  'spacing_m, tolerance_m: the largest demanded of the stretches that it touches [m]; places_mm: the last allowed position of each missing piece [driven '
  'mm]; is_open: it reaches the face; unplaced: pieces in it whose place on the ring is not known, and which do not count for the sector, of a spacing around '
  'count for the narrowest distances; rests_on: what demands it; direction: along, or around, a distance between pieces of the row from from_m to to_m, from '
  'gap_from_deg to gap_to_deg on the ring [deg]; around_spacing_m, around_tolerance_m: demanded around [m]; found_m, allowed_m: the distance found, of a row '
  'without known places the mean, and the largest allowed, half of it at an end of the sector [m].';
