-- A drive divided wherever a ground note or a class decision begins or ends, from the first of them to the last, with what applies to each piece:
-- the note, and the decision unless withdrawn. Pieces with neither are included, with nulls. Notes do not overlap, nor do decisions, so the last
-- one that begins before a place applies to it if it extends that far. Both are numbered along the drive, and their content is looked up by
-- number in arrays, so that the time grows only with their number, however little the planner knows of the tables.
create or replace function ground_tile_of(drive_id int)
returns table (from_m numeric, to_m numeric, is_noted boolean, noted_class_id int, lithology text, is_countersigned boolean, decision_number int,
  decided_class_id int, decision_state text, is_paid boolean, is_draft boolean)
language sql stable strict rows 1000 begin atomic
  with silence as materialized (
    select shift_ids from paid_by_silence_of(ground_tile_of.drive_id)
  ), written as materialized (
    select g.n, g.from_mm, g.to_mm, g.ground_class_id, g.lithology, coalesce(g.state = 'countersigned', false) as is_countersigned,
      coalesce(g.shift_id = any ((select shift_ids from silence)::int[]), false) as is_silent, coalesce(g.state = 'draft', false) as is_draft
    from (
      select row_number() over (order by g.from_m)::int as n, (g.from_m * 1000)::int as from_mm, (g.to_m * 1000)::int as to_mm, g.ground_class_id, g.lithology,
        g.shift_id,
        (select s.state::text from shift s where s.id = g.shift_id) as state -- once per note
      from ground_interval g where g.drive_id = ground_tile_of.drive_id
      offset 0
    ) g
  ), word as materialized (
    select array_agg(distinct w.lithology) as lithologies from written w where w.lithology is not null
  ), note as materialized (
    select array_agg(w.from_mm order by w.n) as from_mm, array_agg(w.to_mm order by w.n) as to_mm, array_agg(w.ground_class_id order by w.n) as class_id,
      array_agg(array_position((select lithologies from word), w.lithology) order by w.n) as lithology,
        array_agg(w.is_countersigned order by w.n) as is_countersigned,
      array_agg(w.is_countersigned or w.is_silent order by w.n) as is_paid,
      array_agg(w.is_draft order by w.n) as is_draft
    from written w
  ), decided as materialized (
    select row_number() over (order by d.from_m)::int as n, (d.from_m * 1000)::int as from_mm, (d.to_m * 1000)::int as to_mm, d.number, d.ground_class_id,
      array_position(array['proposed', 'agreed', 'disputed'], d.state::text) as state
    from class_decision d
    where d.drive_id = ground_tile_of.drive_id and d.withdrawn_by is null -- a form that the planner can estimate under row-level security
  ), decision as materialized (
    select array_agg(d.to_mm order by d.n) as to_mm, array_agg(d.number order by d.n) as number, array_agg(d.ground_class_id order by d.n) as class_id,
      array_agg(d.state order by d.n) as state
    from decided d
  ), cut as (
    select c.mm, max(c.note) as note, max(c.decision) as decision
    from (
      select from_mm as mm, n as note, null::int as decision from written
      union all select to_mm, null, null from written
      union all select from_mm, null, n from decided
      union all select to_mm, null, null from decided
    ) c
    group by c.mm
  ), begun as (
    select cut.mm as from_mm, lead(cut.mm) over along as to_mm, max(cut.note) over along as note, max(cut.decision) over along as decision
    from cut
    window along as (order by cut.mm)
  ), tile as (
    select b.from_mm, b.to_mm, case when (select to_mm from note)[b.note] > b.from_mm then b.note end as note,
      case when (select to_mm from decision)[b.decision] > b.from_mm then b.decision end as decision
    from begun b where b.to_mm is not null
  )
  select t.from_mm * 0.001, t.to_mm * 0.001, t.note is not null, (select class_id from note)[t.note],
    (select lithologies from word)[(select lithology from note)[t.note]], (select is_countersigned from note)[t.note],
    (select number from decision)[t.decision], (select class_id from decision)[t.decision],
    (array['proposed', 'agreed', 'disputed'])[(select state from decision)[t.decision]], (select is_paid from note)[t.note], (select is_draft from note)[t.note]
  from tile t
  order by t.from_mm;
end;

comment on function ground_tile_of(int) is
  'A drive cut where a ground note or a class decision begins or ends, from the first of them to the last, with the note and the decision that lie on each '
  'piece; null where there is none. is_paid: the note''s shift is countersigned, or deemed accepted where that pays; is_draft: it is a draft, which nobody '
  'has submitted. Driven metres. [m]';
