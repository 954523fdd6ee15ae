-- One row per piece of the counted support of a drive, numbered within its line: its position along the drive and on the ring. A position
-- between two millimetres is rounded down to the micrometre, which keeps it on the same side of every millimetre. span is that of its
-- line, found by the index.
create or replace function support_piece_of(drive_id int)
returns table (support_installed_id int, shift_id int, support_item_id int, zone text, number int, at_m numeric, arc_deg numeric, span numrange)
language sql stable begin atomic
  select r.id, r.shift_id, r.support_item_id, r.zone, p.number,
    case when r.positions_m is not null then r.positions_m[p.number] when r.to_m = r.from_m then r.from_m
      else trunc(r.from_m + (2 * p.number - 1) * (r.to_m - r.from_m) / (2 * r.quantity), 6) end,
    r.arc_positions_deg[p.number], r.span
  from support_installed r
  cross join lateral generate_series(1, r.quantity::int) p(number)
  where r.drive_id = support_piece_of.drive_id and r.unit = 'nr';
end;

comment on function support_piece_of(int) is
  'The pieces of a drive''s counted support: line, item, zone, number within the line, position [driven m], place on the ring [°], null where none is given.';
