-- The class that governs along a drive, for payment and time: at each place that of the agreed class decision, otherwise the class noted by the
-- shift. A proposed or disputed decision does not govern: it is shown beside, as contested, over its length; if nothing else is noted there, the
-- row has no class. A note governs whether it is countersigned or not, and says so: payment waits for the countersignature. Intervals do not
-- overlap and are ordered along the drive; a place with neither class nor decision is in none. Decisions and notes may lie ahead of the face. An
-- agreed decision is one row, whatever is noted below it.
create or replace function governing_class_of(drive_id int)
returns table (from_m numeric, to_m numeric, ground_class_id int, ground_class_code text, basis text, is_countersigned boolean,
  contested_number int, contested_state text, contested_class_code text, is_draft boolean)
language sql stable strict rows 1000 begin atomic
  with governing as (
    select d.from_m, d.to_m, d.ground_class_id, 'agreed' as basis, null::boolean as is_countersigned, null::int as contested_number,
      null::text as contested_state, null::int as contested_class_id, null::boolean as is_draft
    from class_decision d where d.drive_id = governing_class_of.drive_id and d.state::text = 'agreed'
    union all
    select t.from_m, t.to_m, t.noted_class_id, case when t.is_noted then 'noted' end, t.is_countersigned, t.decision_number, t.decision_state,
      t.decided_class_id, t.is_draft
    from ground_tile_of(governing_class_of.drive_id) t
    where (t.is_noted or t.decision_number is not null) and t.decision_state is distinct from 'agreed'
  )
  select r.from_m, r.to_m, r.ground_class_id, c.code, r.basis, r.is_countersigned, r.contested_number, r.contested_state, o.code, r.is_draft
  from governing r
  left join ground_class c on c.id = r.ground_class_id
  left join ground_class o on o.id = r.contested_class_id
  order by r.from_m;
end;

comment on function governing_class_of(int) is
  'Ground class that counts along a drive, for payment and time: of the agreed class decision (basis agreed), else as noted by the shift (basis noted; '
  'is_countersigned: whether its shift is, is_draft whether that is a draft). contested_number, contested_state, contested_class_code: a proposed or disputed '
  'decision there, which does not govern; without a note its row has no class. Driven metres [m]; intervals do not overlap; places with neither class nor '
  'decision are left out.';
