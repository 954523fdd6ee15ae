-- Required against installed support between two chainages, by intervals of the given length on round chainages; null: as one.
-- required + surplus − missing_raw = installed, in every row. missing is what is reported: due, and beyond the tolerance.
create or replace function missing_support_between(project text, drive text, from_chainage numeric, to_chainage numeric, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, item_code text, kind text, description text, unit text,
  zone text, part text, length_m numeric, required numeric, installed numeric, difference numeric, missing_raw numeric, surplus numeric,
  tolerated numeric, missing numeric, state text, drive_id int, from_m numeric, to_m numeric, rests_on text, missing_local numeric)
language sql stable begin atomic
  with place as materialized (
    select d.id, p.code as project_code, d.code as drive_code, d.direction, d.start_chainage_m, asked.low_m, asked.high_m,
      interval_bounds(asked.origin_m, asked.low_m, asked.high_m, missing_support_between.interval_m) as bounds
    from drive d
    join project p on p.id = d.project_id
    cross join lateral (
      select d.direction * d.start_chainage_m as origin_m,
        least(driven_of_chainage(d.start_chainage_m, d.direction, missing_support_between.from_chainage),
          driven_of_chainage(d.start_chainage_m, d.direction, missing_support_between.to_chainage)) as low_m,
        greatest(driven_of_chainage(d.start_chainage_m, d.direction, missing_support_between.from_chainage),
          driven_of_chainage(d.start_chainage_m, d.direction, missing_support_between.to_chainage)) as high_m
    ) asked
    where p.code = missing_support_between.project and d.code = missing_support_between.drive
  ), standing as (
    select place.*, s.from_m, s.to_m, s.part, s.support_item_id, s.zone, s.length_m, s.required,
      s.installed, greatest(s.required - s.installed, 0.000) as missing_raw, greatest(s.installed - s.required, 0.000) as surplus, s.tolerated, s.rests_on,
        s.missing as missing_local
    from place cross join lateral support_cell_of(place.id, place.bounds) s
  )
  select s.project_code, s.drive_code, chainage_of_driven(s.start_chainage_m, s.direction, s.from_m),
    chainage_of_driven(s.start_chainage_m, s.direction, s.to_m), i.code, i.kind::text,
    i.description, i.unit::text, s.zone, s.part, s.length_m, s.required, s.installed, s.installed - s.required, s.missing_raw, s.surplus, s.tolerated,
    case when s.part = 'due' then s.missing_local else 0.000 end,
    case
      when s.part in ('not_assessed', 'ahead_of_face') then s.part
      when s.part = 'due' and s.missing_local > 0 then 'missing'
      when s.missing_local > 0 then 'not_yet_due'
      when s.required = 0 then 'not_required'
      when s.missing_raw = 0 then 'complete'
      else 'within_tolerance'
    end,
    s.id, s.from_m, s.to_m, s.rests_on, s.missing_local
  from standing s
  left join support_item i on i.id = s.support_item_id;
end;

comment on function missing_support_between(text, text, numeric, numeric, numeric) is
  'Support required by class or design section against support installed, between two chainages [m] by intervals of a length on round chainages [m], null: as '
  'one; by item, zone and part, in the item''s unit, exact. part: due, not_yet_due (nearer to the face than the zone''s limit), not_assessed (no class, or '
  'one without standard), ahead_of_face. difference: installed less required; missing_raw, surplus: its two sides; tolerated: shortfall that is not reported; '
  'missing: shortfall reported, of what is due; state: missing, within_tolerance, complete, not_required, not_yet_due, not_assessed, ahead_of_face; rests_on: '
  'what demands it, in words. Decision support: it shows what the record holds, which may be late; the project''s designer, the responsible engineer on site '
  'and the local code decide, by inspection.';
