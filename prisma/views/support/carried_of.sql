-- What is carried into the first stroke that is judged, of pieces that are not whole (missing_pieces): no rows here, where a drive is judged from its start. In
-- schema report_since what was carried there.
create or replace function carried_of(drive_id int)
returns table (support_item_id int, zone text, carried numeric, tolerated numeric)
language sql stable begin atomic
  select null::int, null::text, null::numeric, null::numeric where false;
end;

comment on function carried_of(int) is
  'What is carried into the first stroke that is judged, and what is tolerated of it, in pieces: no rows where a drive is judged from its start.';
