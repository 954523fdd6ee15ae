-- The pieces of an item and zone in the rows of a pattern along and around. Pieces are at their posted positions, or at the place of their
-- line; those of a line over an interval are put in the fewest rows that between_mm of the stretch in which it begins allows, at
-- (j − 1/2)/rows of it, and shared among the rows. A row is what lies within half of between_mm of its first piece. If no position on the ring
-- was posted, the pieces of a row with the same arc, from whichever lines, are assumed to be evenly spaced along it (is_assumed); without an arc,
-- they have no position. begins_mm, between_mm: where stretches begin, rising, and the row spacing that each allows.
create or replace function pattern_piece_of(drive_id int, support_item_id int, zone text, begins_mm int[], between_mm int[])
returns table (row_number int, at_um bigint, arc_deg numeric, is_assumed boolean)
language sql stable begin atomic
  with line as (
    select s.*, s.quantity::int as pieces, arc_width(s.arc_from_deg, s.arc_to_deg) as arc_deg,
      least(ceil((s.to_m - s.from_m) * 1000 / pattern_piece_of.between_mm[greatest(width_bucket((s.from_m * 1000)::int, pattern_piece_of.begins_mm), 1)])::int,
        s.quantity::int) as rows
    from support_installed s
    where s.drive_id = pattern_piece_of.drive_id and s.support_item_id = pattern_piece_of.support_item_id and s.zone = pattern_piece_of.zone and s.unit = 'nr'
      and s.quantity > 0
  ), piece as (
    select l.id, n, l.arc_positions_deg[n] as arc_deg, l.arc_from_deg as line_from_deg, l.arc_deg as line_arc_deg,
      case when l.positions_m is not null then (l.positions_m[n] * 1000000)::bigint
        when l.rows = 0 then (l.from_m * 1000000)::bigint
        else ((l.from_m + (2 * ((n * l.rows + l.pieces - 1) / l.pieces) - 1) * (l.to_m - l.from_m) / (2 * l.rows)) * 1000000)::bigint end as at_um
    from line l cross join lateral generate_series(1, l.pieces) n
  ), rowed as (
    select t.* from (
      select array_agg(p.at_um order by p.at_um, p.id, p.n) as places,
        array_agg(pattern_piece_of.between_mm[greatest(width_bucket((p.at_um / 1000)::int, pattern_piece_of.begins_mm), 1)] * 500::bigint order by p.at_um,
          p.id, p.n) as reaches,
        array_agg(p.arc_deg order by p.at_um, p.id, p.n) as arcs, array_agg(p.line_from_deg order by p.at_um, p.id, p.n) as line_from,
        array_agg(p.line_arc_deg order by p.at_um, p.id, p.n) as line_arcs
      from piece p
    ) a
    cross join lateral unnest(rows_of_pieces(a.places, a.reaches), a.places, a.arcs, a.line_from, a.line_arcs) t(row_number, at_um, arc_deg, line_from_deg,
      line_arc_deg)
  )
  select r.row_number, r.at_um, coalesce(r.arc_deg, (r.line_from_deg + (2 * row_number() over alike - 1) * r.line_arc_deg / (2 * count(*) over (
      partition by r.row_number, r.line_from_deg, r.line_arc_deg, r.arc_deg is null))) % 360),
    r.arc_deg is null and r.line_from_deg is not null
  from rowed r
  window alike as (partition by r.row_number, r.line_from_deg, r.line_arc_deg, r.arc_deg is null order by r.at_um);
end;

comment on function pattern_piece_of(int, int, text, int[], int[]) is
  'The pieces of an item and zone in rows, as needed for a spacing along and around: number of the row, place [driven micrometres], place on the ring [deg], '
  'null: not known; is_assumed: taken as standing evenly along the arc of its line.';
