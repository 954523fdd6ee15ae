-- One row per class of the baseline or of the governing classes, and one with a null class for driven metres without any. Percentages have four
-- decimals and sum to exactly 100 (shares_of).
create or replace function baseline_against_encountered(project text, drive text, baseline text)
returns table (
  ground_class_code text, baseline_m numeric, baseline_percent numeric, encountered_m numeric, encountered_percent numeric, difference_m numeric,
  same_m numeric, agreed_m numeric, disputed_m numeric, proposed_m numeric, noted_m numeric, whole_baseline_m numeric, drive_id int, draft_m numeric)
language sql stable begin atomic
  with strip as materialized (
    select s.* from baseline_strip(baseline_against_encountered.project, baseline_against_encountered.drive, baseline_against_encountered.baseline) s
  ), part as (
    select s.baseline_class_code as code, s.length_m as baseline_m, 0.000 as encountered_m, 0.000 as same_m, 0.000 as whole_m, null::text as basis,
      null::text as contested, false as is_draft from strip s
    union all
    select s.governing_class_code, 0.000, s.length_m, case when s.governing_class_code = s.baseline_class_code then s.length_m else 0.000 end, 0.000, s.basis,
      s.contested_state, s.is_draft
    from strip s
    union all
    select c.ground_class_code, 0.000, 0.000, 0.000, c.length_m, null, null, false from baseline_class c
    where c.project_code = baseline_against_encountered.project and c.drive_code = baseline_against_encountered.drive
      and c.baseline = baseline_against_encountered.baseline
  ), class as (
    select p.code, sum(p.baseline_m) as baseline_m, sum(p.encountered_m) as encountered_m, sum(p.same_m) as same_m, sum(p.whole_m) as whole_m,
      coalesce(sum(p.encountered_m) filter (where p.basis = 'agreed'), 0.000) as agreed_m,
      coalesce(sum(p.encountered_m) filter (where p.contested = 'disputed'), 0.000) as disputed_m,
      coalesce(sum(p.encountered_m) filter (where p.contested = 'proposed'), 0.000) as proposed_m,
      coalesce(sum(p.encountered_m) filter (where p.basis = 'noted'), 0.000) as noted_m,
      coalesce(sum(p.encountered_m) filter (where p.basis = 'noted' and p.is_draft), 0.000) as draft_m
    from part p group by p.code
  ), listed as (
    select c.*, row_number() over (order by c.baseline_m desc, c.code collate "C") as baseline_place,
      row_number() over (order by c.encountered_m desc, c.code collate "C") as encountered_place
    from class c
  ), shared as materialized ( -- both as shares of the driven length, to which both sum
    select shares_of(array_agg(l.baseline_m order by l.baseline_place)) as baseline_millionths,
      shares_of(array_agg(l.encountered_m order by l.encountered_place)) as encountered_millionths
    from listed l
  )
  select r.code, r.baseline_m, round((select baseline_millionths from shared)[r.baseline_place]::numeric / 10000, 4),
    r.encountered_m, round((select encountered_millionths from shared)[r.encountered_place]::numeric / 10000, 4),
    r.encountered_m - r.baseline_m, r.same_m, r.agreed_m, r.disputed_m, r.proposed_m, r.noted_m, r.whole_m, d.id, r.draft_m
  from listed r
  join project p on p.code = baseline_against_encountered.project
  join drive d on d.project_id = p.id and d.code = baseline_against_encountered.drive
  order by r.code;
end;

comment on function baseline_against_encountered(text, text, text) is
  'Baseline against encountered by ground class on the driven part of a drive: metres of the baseline and of the governing class with their percentages of '
  'the driven length (null before anything is driven), difference_m: encountered less baseline, same_m: where both are this class; agreed_m, noted_m: the '
  'encountered metres by basis; draft_m: those of noted_m that a draft shift noted; disputed_m, proposed_m: those of them over which a decision is contested; '
  'whole_baseline_m: of the whole drive. Null class: driven metres without any. Both sets of metres sum to the face position exactly. [m]';
