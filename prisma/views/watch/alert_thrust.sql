-- One row per rule of kind thrust_above that is met: the highest thrust per disc in the borings of the 24 hours up to the end of the last one is above the
-- given part of the rated load. Borings without times are ignored.
create or replace function alert_thrust(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule, 'face'::text as subject, round(b.thrust_per_disc_kn::numeric, 3) as value, round(m.rated_disc_load_kn * r.threshold / 100, 3) as limit_value,
    'kN'::text as unit,
    format('Stroke %s had %s kN per disc; the limit is %s kN, %s %% of the rated load.', b.stroke_number, round(b.thrust_per_disc_kn::numeric, 3),
      round(m.rated_disc_load_kn * r.threshold / 100, 3), trim_scale(r.threshold)) as text
  from alert_rule_of_drive r
  cross join lateral machine_at_face(r.drive_id) m
  cross join lateral (
    select last.ended_at from boring last where last.drive_id = r.drive_id and last.started_at is not null order by last.started_at desc limit 1
  ) last
  cross join lateral (
    select b.stroke_number, b.thrust_per_disc_kn from boring b
    where b.drive_id = r.drive_id and b.started_at >= last.ended_at - interval '24 hours' and b.thrust_per_disc_kn is not null
    order by b.thrust_per_disc_kn desc, b.from_m limit 1
  ) b
  where r.drive_id = alert_thrust.drive_id and r.kind = 'thrust_above' and b.thrust_per_disc_kn::numeric > m.rated_disc_load_kn * r.threshold / 100;
end;

comment on function alert_thrust(int) is 'In a drive: alerts of kind thrust_above that hold, by the data of the machine at the face.';
