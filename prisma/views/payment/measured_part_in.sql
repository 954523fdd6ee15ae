-- What the rules of a drive's bills measure until a day, one row per item, record and stretch of one kind of ground: the contents of shifts that are
-- countersigned, or deemed accepted if that pays, with the probe holes drilled and the holes grouted in them; lump sums are in lump_part_of. A record
-- is measured by the version of the bill that counts on its date, in the base unit of what the rule measures: nr, m, m2, m3, kg, s. Each record has a
-- key in words that stays the same when its shift is posted again.
-- quantity is null if the record lacks what the rule needs. total is that of the whole record, quantity the part between from_m and to_m (see
-- measured_before); pieces means that it is divided by the pieces of its line, and parts without any are left out. is_alone: no other row has its item,
-- record and class; is_single: the whole record lies in one stretch. An empty only_reference: for all items. With also_uncaught, records that no rule
-- covers have rows too, without an item.
--
-- No join depends on the planner's choice of order: the records of a shift are found by its number, the stretch that contains an end of a record by
-- binary search in their sorted starts, and the rules that cover it by three numbers in a hash of few rows.
-- part_name: the zone of support, the method of a probe hole, the material of a mix; party: responsible party of time, purpose of a grouting round.
-- other_quantity: seconds of grouting of a hole, m3 of a mix.
-- without_shift_ids: shifts to leave out, because their results are known already; their probe holes and grouted holes are still measured.
create or replace function measured_part_in(drive_id int, until date, only_reference text, also_uncaught boolean, without_shift_ids int[])
returns table (pay_item_id int, reference text, source text, source_key text, class_code text, in_dispute boolean, shift_date date, shift_name text,
  from_m numeric, to_m numeric, quantity numeric, basis text, contested jsonb, total numeric, pieces numeric, line_from_m numeric, line_to_m numeric,
  positions_m numeric[], is_alone boolean, match int, is_single boolean)
language sql stable strict rows 100000 begin atomic
  with ground as materialized (
    select * from measure_ground_of(measured_part_in.drive_id)
  ), apart as materialized ( -- whether a stretch and the one before it are uncontested and of different classes
    select array_agg(coalesce(g.class_codes[n.kind] <> g.class_codes[n.kind_before] and g.contested[n.kind] is null and g.contested[n.kind_before] is null,
      false)
      order by n.n) as steps
    from ground g cross join lateral (
      select k.n, k.kind, lag(k.kind) over (order by k.n) as kind_before from unnest(g.kinds) with ordinality k(kind, n)
    ) n
  ), version as materialized (
    select array_agg(b.valid_from order by b.valid_from) as days from bill b where b.drive_id = measured_part_in.drive_id
  ), counted as materialized (
    select s.id, s.starts_at, s.shift_date, n.name as shift_name, s.shift_date || '/' || n.name as shift_key,
      width_bucket(s.shift_date, (select days from version)) as version
    from shift s cross join lateral (select c.name from calendar_shift c where c.id = s.calendar_shift_id offset 0) n
    where s.drive_id = measured_part_in.drive_id and s.shift_date <= measured_part_in.until
      and (s.state::text = 'countersigned' or s.id = any ((select shift_ids from paid_by_silence_of(measured_part_in.drive_id))::int[]))
  ), started as materialized (
    select array_agg(s.starts_at order by s.starts_at) as starts, array_agg(s.id order by s.starts_at) as ids from counted s
  ), read as materialized (
    select s.* from counted s where not exists (select from unnest(measured_part_in.without_shift_ids) k(id) where k.id = s.id)
  ), record as (
    select s.shift_date, s.shift_name, s.version, -1 as match, s.shift_key || '/boring/' || b.from_m as source_key, b.from_m, b.to_m,
      b.to_m - b.from_m as quantity,
      null::text as part_name, null::text as party, null::numeric as thickness_mm, null::numeric as arc_deg, null::numeric as pieces,
        null::numeric[] as positions_m,
      null::numeric as other_quantity
    from read s
    cross join lateral (select b.drive_id, b.from_m, b.to_m from boring b where b.shift_id = s.id offset 0) b
    where b.drive_id = measured_part_in.drive_id -- condition here, so that the drive's index is not read for each shift
    union all
    select s.shift_date, s.shift_name, s.version, r.support_item_id, s.shift_key || '/support/' || r.line, r.from_m, r.to_m, r.quantity, r.zone::text, null,
      r.thickness_mm,
      nullif(arc_width(r.arc_from_deg, r.arc_to_deg), 0), case when r.unit = 'nr' then r.quantity end,
      r.positions_m, null
    from read s
    cross join lateral (
      select r.drive_id, r.line, r.support_item_id, r.zone, r.unit, r.from_m, r.to_m, r.quantity, r.thickness_mm, r.arc_from_deg, r.arc_to_deg, r.positions_m
      from support_installed r where r.shift_id = s.id offset 0
    ) r
    where r.drive_id = measured_part_in.drive_id
    union all
    select s.shift_date, s.shift_name, s.version, -2, 'probe-hole/' || h.name, h.collar_m, h.collar_m, h.length_m, h.method::text, null, null, null, null, null,
      null
    from probe_hole h
    cross join lateral (
      select t.shift_date, n.name as shift_name, width_bucket(t.shift_date, (select days from version)) as version
      from shift t join calendar_shift n on n.id = t.calendar_shift_id
      where t.id = (select ids from started)[width_bucket(h.drilled_at, (select starts from started))] and h.drilled_at < t.ends_at
      offset 0
    ) s
    where h.drive_id = measured_part_in.drive_id
    union all -- a hole of a grouting round, and each mix that it took: in the shift in which it ended
    select s.shift_date, s.shift_name, s.version, x.match, x.source_key, h.collar_m, h.collar_m, x.quantity, x.material, r.purpose::text, null, null, null,
      null,
      x.other_quantity
    from grout_hole h
    join grout_round r on r.id = h.grout_round_id
    cross join lateral (select coalesce(h.ended_at, r.ended_at) as at offset 0) done
    cross join lateral (
      select t.shift_date, n.name as shift_name, width_bucket(t.shift_date, (select days from version)) as version
      from shift t join calendar_shift n on n.id = t.calendar_shift_id
      where t.id = (select ids from started)[width_bucket(done.at - interval '1 millisecond', (select starts from started))] and done.at <= t.ends_at
      offset 0
    ) s
    cross join lateral (
      select -5 as match, 'grouting/' || r.name || '/' || h.name as source_key, h.length_m as quantity, null as material,
        extract(epoch from h.ended_at - h.started_at) as other_quantity
      union all
      select -6, 'grouting/' || r.name || '/' || h.name || '/' || m.number, m.mass_kg, m.material, m.volume_l * 0.001 from grout_mix m
        where m.grout_hole_id = h.id
    ) x
    where h.drive_id = measured_part_in.drive_id
    union all
    select s.shift_date, s.shift_name, s.version, -10 - a.activity_code_id,
      s.shift_key || '/activity/' || to_char(a.started_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"'), null, null,
      extract(epoch from a.ended_at - a.started_at), null, a.responsible_party::text, null, null, null, null, null
    from read s
    cross join lateral (
      select a.drive_id, a.activity_code_id, a.started_at, a.ended_at, a.responsible_party
      from activity a where a.shift_id = s.id offset 0
    ) a
    where a.drive_id = measured_part_in.drive_id and (measured_part_in.also_uncaught
      or exists (select from measurement_rule r join pay_item i on i.id = r.pay_item_id where r.drive_id = measured_part_in.drive_id and r.source::text = 'time'
        and measured_part_in.only_reference in ('', i.reference)))
  ), placed as (
    select r.*, coalesce(width_bucket((r.from_m * 1000)::int, (select starts_mm from ground)), 0) as first_n,
      coalesce(width_bucket(greatest((r.to_m * 1000)::int - 1, (r.from_m * 1000)::int), (select starts_mm from ground)), 0) as last_n
    from record r
    offset 0
  ), cut as (
    select p.*, generate_series(p.first_n, p.last_n) as n,
      p.match > -2 and (p.first_n = p.last_n or (p.first_n + 1 = p.last_n and (select steps from apart)[p.last_n])) as is_alone
    from placed p
  ), part as (
    select c.*, case when c.n > 0 then (select kinds from ground)[c.n] else 1 end as kind,
      case when c.n > c.first_n then (select starts_mm from ground)[c.n] * 0.001 else c.from_m end as part_from_m,
      case when c.n < c.last_n then (select starts_mm from ground)[c.n + 1] * 0.001 else c.to_m end as part_to_m
    from cut c
  ), caught as (
    select p.*, c.pay_item_id, c.reference, c.class_code, c.in_dispute, c.basis, c.contested,
      case when c.dimension not in ('area', 'volume') then p.pieces end as pieces_of_it,
      case
        when p.match in (-2, -5) and c.dimension = 'count' then c.factor
        when p.match in (-5, -6) and c.dimension in ('hours', 'volume') then c.factor * p.other_quantity
        when c.pay_diameter_m is not null then
          c.factor * (p.arc_deg / 360 * circumference(c.pay_diameter_m) * nullif(p.to_m - p.from_m, 0)
            * case c.dimension when 'volume' then coalesce(c.theoretical_thickness_mm, p.thickness_mm) / 1000 else 1 end)
        when c.by_thickness then c.per_unit * p.quantity * coalesce(p.thickness_mm, c.theoretical_thickness_mm)
        else c.per_unit * p.quantity
      end as total
    from part p
    left join (
      select c.* from ground g
      cross join lateral measure_catch_of(measured_part_in.drive_id, measured_part_in.only_reference, g.class_codes, g.bases, g.lithologies,
        g.contested_class_codes, g.contested) c
    ) c on c.match = p.match and c.version = p.version and c.kind = p.kind
      and takes(c.zones, p.part_name) and takes(c.parties, p.party)
    where measured_part_in.also_uncaught or c.pay_item_id is not null
    offset 0
  )
  select c.pay_item_id, c.reference, case when c.match > 0 then 'support' when c.match = -1 then 'advance' when c.match = -2 then 'probing'
    when c.match in (-5, -6) then 'grouting' else 'time' end,
    c.source_key, c.class_code, c.in_dispute, c.shift_date, c.shift_name, c.part_from_m, c.part_to_m,
    case when c.first_n < c.last_n then measured_before(c.total, c.pieces_of_it, c.from_m, c.to_m, c.positions_m, c.part_to_m)
        - measured_before(c.total, c.pieces_of_it, c.from_m, c.to_m, c.positions_m, c.part_from_m)
      else round(c.total, 9) end,
    c.basis, c.contested, c.total, c.pieces_of_it, c.from_m, c.to_m, c.positions_m, c.is_alone, c.match, c.first_n = c.last_n
  from caught c
  where c.pieces_of_it is null
    or case when c.first_n = c.last_n then c.pieces_of_it > 0
      else pieces_before(c.pieces_of_it, c.from_m, c.to_m, c.positions_m, c.part_from_m) < pieces_before(c.pieces_of_it, c.from_m, c.to_m, c.positions_m,
        c.part_to_m) end;
end;

comment on function measured_part_in(int, date, text, boolean, int[]) is
  'measured_part_of without the records of some shifts.';
