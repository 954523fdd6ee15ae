-- What can be measured of a drive until a day, one row a record and cell of the ground that it lies in: what countersigned
-- shifts hold, with the probe holes that were drilled in them. Each record has a key in words that stays when its shift is posted
-- again. class_code is the class that pays: agreed, else noted by a countersigned shift. contested_class_code is the one that would pay
-- if the decision that stands there were agreed, or the note countersigned. Quantities over an interval are apportioned along it, pieces by
-- where each stands, so that the parts of a record sum to it exactly.
-- The cells that hold a record are found in their sorted starts by halving (width_bucket), in whole millimetres; the starts are asked for in a
-- sub-select: joined, the whole list would go with each row.
create or replace function measurable_of(drive_id int, until date, only_source text)
returns table (source text, source_key text, shift_date date, shift_name text, from_m numeric, to_m numeric, class_code text, class_basis text,
  lithology text, support_item_id int, zone text, activity_code text, time_class text, party text, quantity numeric, thickness_mm numeric, arc_deg numeric,
  contested_class_code text, contested jsonb, pieces numeric, line_from_m numeric, line_to_m numeric, positions_m numeric[], is_whole boolean)
language sql stable begin atomic
  with counted as materialized (
    select s.id, s.shift_date, n.name as shift_name, s.shift_date || '/' || n.name as shift_key
    from shift s join calendar_shift n on n.id = s.calendar_shift_id
    where s.drive_id = measurable_of.drive_id and s.shift_date <= measurable_of.until and s.state::text = 'countersigned'
  ), cell as materialized (
    select c.n, c.from_m, c.to_m, c.lithology, case when pays then c.ruling_class_code end as class_code, case when pays then c.basis end as basis,
      coalesce(c.contested_class_code, case when not pays then c.ruling_class_code end) as contested_class_code,
      case when c.contested_number is not null
          then jsonb_build_object('number', c.contested_number, 'state', c.contested_state, 'groundClass', c.contested_class_code)
        when not pays then jsonb_build_object('state', 'noted', 'groundClass', c.ruling_class_code) end as contested
    from ground_cell_of(measurable_of.drive_id) c
    cross join lateral (select c.is_countersigned is not false as pays) note
  ), start as materialized (
    select array_agg((c.from_m * 1000)::int order by c.n) as mm from cell c
  ), record as (
    select 'advance' as source, s.shift_key || '/boring/' || b.from_m as source_key, s.shift_date, s.shift_name, b.from_m, b.to_m,
      null::int as support_item_id, null::text as zone, b.to_m - b.from_m as quantity, null::numeric as thickness_mm, null::numeric as arc_deg,
      null::numeric as pieces, null::numeric[] as positions_m
    from boring b join counted s on s.id = b.shift_id
    where b.drive_id = measurable_of.drive_id and coalesce(only_source, 'advance') = 'advance'
    union all
    select 'support', s.shift_key || '/support/' || r.line, s.shift_date, s.shift_name, r.from_m, r.to_m, r.support_item_id, r.zone::text, r.quantity,
      r.thickness_mm, nullif(r.arc_to_deg - r.arc_from_deg + case when r.arc_to_deg < r.arc_from_deg then 360 else 0 end, 0),
      case when r.unit = 'nr' then r.quantity end, r.positions_m
    from support_installed r join counted s on s.id = r.shift_id
    where r.drive_id = measurable_of.drive_id and coalesce(only_source, 'support') = 'support'
    union all
    select 'probing', 'probe-hole/' || h.name, s.shift_date, s.shift_name, h.collar_m, h.collar_m, null, null, h.length_m, null, null, null, null
    from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id join counted s on s.id = r.shift_id
    where h.drive_id = measurable_of.drive_id and coalesce(only_source, 'probing') = 'probing'
  ), held as materialized (
    select r.*, width_bucket((r.from_m * 1000)::int, (select mm from start)) as first_n,
      width_bucket(greatest((r.to_m * 1000)::int - 1, (r.from_m * 1000)::int), (select mm from start)) as last_n
    from record r
  ), part as (
    select h.*, h.first_n as n, h.from_m as part_from_m, h.to_m as part_to_m, h.quantity as part_quantity, h.source <> 'probing' as is_whole
    from held h where h.first_n = h.last_n
    union all
    select h.*, c.n, greatest(h.from_m, c.from_m), least(h.to_m, c.to_m),
      case h.source when 'advance' then least(h.to_m, c.to_m) - greatest(h.from_m, c.from_m)
        else apportion(h.quantity, h.pieces, h.from_m, h.to_m, h.positions_m, c.from_m, c.to_m) end, false
    from held h cross join lateral generate_series(h.first_n, h.last_n) g join cell c on c.n = g
    where h.first_n < h.last_n
  )
  select part.source, part.source_key, part.shift_date, part.shift_name, part.part_from_m, part.part_to_m, c.class_code, c.basis, c.lithology,
    part.support_item_id, part.zone, null::text, null::text, null::text, part.part_quantity, part.thickness_mm, part.arc_deg,
    c.contested_class_code, c.contested, part.pieces, part.from_m, part.to_m, part.positions_m, part.is_whole
  from part join cell c on c.n = part.n
  union all
  select 'time', s.shift_key || '/activity/' || to_char(a.started_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'), s.shift_date, s.shift_name, null, null,
    null, null, null, null, null, c.code, c.counts_as::text, a.responsible_party::text, extract(epoch from a.ended_at - a.started_at), null, null,
    null, null, null, null, null, null, false
  from activity a join counted s on s.id = a.shift_id join activity_code c on c.id = a.activity_code_id
  where a.drive_id = measurable_of.drive_id and coalesce(only_source, 'time') = 'time';
end;

comment on function measurable_of(int, date, text) is
  'What can be measured of a drive until a day, by record and cell of the ground: advance [m], support [its item''s unit], probing [m], time [s]. class_code and class_basis: what pays; contested_class_code and contested: what would pay if it were agreed, or the note countersigned; pieces, line_from_m, line_to_m, positions_m: of the whole line of a counted item; is_whole: the record lies in one cell, and no other row has its key. A null source: all.';
