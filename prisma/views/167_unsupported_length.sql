-- Unsupported length behind the face, one row a zone. A stroke is complete in a zone when each item that is demanded of it
-- there is in, within the tolerance, and its whole length is assessed. The unsupported length runs from the face back to the
-- nearest complete stroke. The limit is exceeded when any incomplete stroke begins farther behind the face, also behind
-- complete ones: a hole in the support is no less one.
create or replace function unsupported_length(project text, drive text)
returns table (
  project_code text, drive_code text, zone text, face_m numeric, face_chainage_m numeric, limit_m numeric, unsupported_m numeric,
  supported_to_m numeric, supported_to_chainage_m numeric, complete_to_m numeric, complete_to_chainage_m numeric, incomplete_m numeric,
  overdue_m numeric, not_assessed_m numeric, overdue_not_assessed_m numeric, state text, drive_id int, rests_on text)
language sql stable begin atomic
  with place as materialized (
    select d.id, p.code as project_code, d.code as drive_code, d.direction, d.start_chainage_m, support_stroke(d.id) as bounds
    from drive d join project p on p.id = d.project_id
    where p.code = unsupported_length.project and d.code = unsupported_length.drive
  ), face as (
    select coalesce((select max(m) from unnest(place.bounds) m), 0.000) as m from place
  ), stroke as materialized (
    select * from (
      select b.number::int as cell, b.m as from_m, lead(b.m) over (order by b.number) as to_m
      from place cross join lateral unnest(place.bounds) with ordinality b(m, number)
    ) b where to_m is not null
  ), found as materialized (
    select s.cell, s.zone, bool_or(s.is_short) as is_short, sum(s.length_m) filter (where s.support_item_id is null) as not_assessed_m,
      min(greatest(s.from_m, s.short_from_m)) filter (where s.is_short) as short_from_m,
      string_agg(s.rests_on, '; ' order by s.rests_on) filter (where s.is_short) as rests_on
    from place cross join lateral (select j.*, j.kind = 'gap' or j.missing > 0 as is_short from support_judged(place.id, null) j) s
    group by s.cell, s.zone
  ), stretch as materialized (
    select l.zone, l.from_mm * 0.001 as from_m, l.to_mm * 0.001 as to_m, l.limit_mm * 0.001 as limit_m, face.m - l.limit_mm * 0.001 as due_to_m
    from place cross join face cross join lateral support_limit_along(place.id) l
  ), zone as ( -- the limit is told that rules at the face
    select s.zone, max(s.limit_m) filter (where face.m >= s.from_m and face.m < s.to_m) as limit_m, bool_or(s.limit_m is not null) as is_limited
    from stretch s cross join face group by s.zone
  ), judged as (
    select z.zone, k.from_m, k.to_m, coalesce(f.is_short, false) as is_short, coalesce(n.not_assessed_m, 0.000) as not_assessed_m,
      k.from_m < z.due_to_m as is_overdue, f.short_from_m < z.due_to_m as is_short_overdue, least(k.to_m, z.due_to_m) - k.from_m as overdue_m, f.rests_on
    from stretch z
    join stroke k on k.from_m >= z.from_m and k.from_m < z.to_m
    left join found f on f.cell = k.cell and f.zone = z.zone::text
    left join found n on n.cell = k.cell and n.zone is null
  ), sum as (
    select j.zone, max(j.to_m) filter (where not j.is_short and j.not_assessed_m = 0) as supported_to_m,
      min(j.from_m) filter (where j.is_short or j.not_assessed_m > 0) as first_m,
      sum(j.to_m - j.from_m) filter (where j.is_short) as incomplete_m, sum(j.overdue_m) filter (where j.is_short_overdue) as overdue_m,
      sum(j.not_assessed_m) as not_assessed_m,
      sum(least(j.not_assessed_m, j.overdue_m)) filter (where j.is_overdue) as overdue_not_assessed_m,
      string_agg(distinct j.rests_on, '; ') as rests_on
    from judged j group by j.zone
  )
  select place.project_code, place.drive_code, z.zone::text, face.m, place.start_chainage_m + place.direction * face.m, z.limit_m,
    face.m - coalesce(s.supported_to_m, 0), coalesce(s.supported_to_m, 0.000), place.start_chainage_m + place.direction * coalesce(s.supported_to_m, 0),
    coalesce(s.first_m, face.m), place.start_chainage_m + place.direction * coalesce(s.first_m, face.m), coalesce(s.incomplete_m, 0.000),
    case when z.is_limited then coalesce(s.overdue_m, 0.000) end, coalesce(s.not_assessed_m, 0.000),
    case when z.is_limited then coalesce(s.overdue_not_assessed_m, 0.000) end,
    case
      when not z.is_limited then 'no_limit'
      when s.overdue_m > 0 then 'exceeded'
      when s.overdue_not_assessed_m > 0 then 'not_assessed'
      else 'within'
    end,
    place.id, s.rests_on
  from place
  cross join face
  cross join zone z
  left join sum s on s.zone = z.zone;
end;

comment on function unsupported_length(text, text) is
  'Unsupported length behind the face of a drive, one row a zone. limit_m: length behind the face within which the zone''s support may be incomplete, of the revision that rules at the face, null when none does [m]; each place is due by the revision that rules it; unsupported_m: from the face back to the nearest stroke whose support is complete [m]; supported_to_m: where that one ends [m]; complete_to_m: to where everything from the start of the drive is complete [m]; incomplete_m: length of all incomplete strokes [m]; overdue_m: the part of them beyond the limit [m]; not_assessed_m: driven length without a class, or where a class held of it has no standard, never counted as supported [m]; overdue_not_assessed_m: the part of it beyond the limit, in strokes that touch it [m]; state: within, exceeded, not_assessed, no_limit; rests_on: by what the support of the incomplete strokes is demanded, in words. Decision support: it shows what the record holds, which may be late; the project''s designer, the responsible engineer on site and the local code decide, by inspection.';

create or replace view unsupported as
select p.code as project_code, d.code as drive_code, u.zone, u.face_m, u.face_chainage_m, u.limit_m, u.unsupported_m, u.supported_to_m,
  u.supported_to_chainage_m, u.complete_to_m, u.complete_to_chainage_m, u.incomplete_m, u.overdue_m, u.not_assessed_m, u.overdue_not_assessed_m,
  u.state, d.id as drive_id, u.rests_on
from drive d
join project p on p.id = d.project_id
cross join lateral unsupported_length(p.code, d.code) u;

comment on view unsupported is
  'report.unsupported_length of every drive. Decision support: it shows what the record holds; the project''s designer, the responsible engineer on site and the local code decide, by inspection.';
comment on column unsupported.limit_m is 'Length behind the face within which the zone''s support may be incomplete; null: none is set. [m]';
comment on column unsupported.unsupported_m is 'From the face back to the nearest stroke whose support is complete. [m]';
comment on column unsupported.complete_to_m is 'To where everything from the start of the drive is complete. [m]';
comment on column unsupported.overdue_m is 'Length of incomplete strokes beyond the limit. [m]';
comment on column unsupported.not_assessed_m is 'Driven length without a class or a standard; never counted as supported. [m]';
comment on column unsupported.state is 'within, exceeded, not_assessed or no_limit.';
comment on column unsupported.rests_on is 'By what the support of the incomplete strokes is demanded, in words.';
