-- Metres bored by countersigned shifts of a drive until a day, by day and kind of ground: the class that pays and the lithology (see measure_ground_of).
create or replace function bored_in_ground_of(drive_id int, until date)
returns table (shift_date date, class_code text, lithology text, length_m numeric)
language sql stable strict rows 1000 begin atomic
  with ground as materialized (
    select * from measure_ground_of(bored_in_ground_of.drive_id)
  ), counted as materialized (
    select s.id, s.shift_date from shift s
    where s.drive_id = bored_in_ground_of.drive_id and s.shift_date <= bored_in_ground_of.until
      and (s.state::text = 'countersigned' or s.id = any ((select shift_ids from paid_by_silence_of(bored_in_ground_of.drive_id))::int[]))
  ), placed as (
    select s.shift_date, (b.from_m * 1000)::int as from_mm, (b.to_m * 1000)::int as to_mm,
      width_bucket((b.from_m * 1000)::int, (select starts_mm from ground)) as first_n,
      width_bucket((b.to_m * 1000)::int - 1, (select starts_mm from ground)) as last_n
    from counted s
    cross join lateral (select b.drive_id, b.from_m, b.to_m from boring b where b.shift_id = s.id offset 0) b
    where b.drive_id = bored_in_ground_of.drive_id
  ), cut as (
    select p.*, generate_series(p.first_n, p.last_n) as n from placed p
  ), summed as (
    select c.shift_date, (select kinds from ground)[c.n] as kind, sum(case when c.n < c.last_n then (select starts_mm from ground)[c.n + 1] else c.to_mm end
        - case when c.n > c.first_n then (select starts_mm from ground)[c.n] else c.from_mm end) as length_mm
    from cut c group by 1, 2
  )
  select s.shift_date, (select class_codes from ground)[s.kind], (select lithologies from ground)[s.kind], s.length_mm * 0.001 from summed s;
end;

comment on function bored_in_ground_of(int, date) is
  'Metres that countersigned shifts bored until a day, by day, the class that pays and lithology; null where there is none. [m]';
