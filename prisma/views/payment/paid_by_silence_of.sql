-- The shifts of a drive that are deemed accepted under a rule by which that pays: they count in valuations, and each line shows them. No shift is read
-- if there is no such rule.
create or replace function paid_by_silence_of(drive_id int)
returns table (shift_ids int[], shift_keys text[])
language sql stable strict rows 1 begin atomic
  select coalesce(array_agg(s.shift_id), '{}'), coalesce(array_agg(s.shift_date || '/' || n.name), '{}')
  from shift_silence s join calendar_shift n on n.id = s.calendar_shift_id
  where s.drive_id = paid_by_silence_of.drive_id and s.is_deemed and s.pays
    and (select exists (select from acceptance_rule r where r.in_force is not false and r.pays));
end;

comment on function paid_by_silence_of(int) is
  'Shifts of a drive that are not countersigned and count in valuations, as a rule of both sides says that deemed acceptance pays: ids, and keys as date/name.';
