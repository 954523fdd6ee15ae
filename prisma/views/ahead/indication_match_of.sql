-- The pairs of indication_pair_of that are matched: in the order of preference, each that has neither its indication nor, within its
-- investigation, what was met in a pair before it. One to one in an investigation; each investigation is compared by itself.
create or replace function indication_match_of(drive_id int)
returns table (investigation_id int, indication_id int, is_from_hole boolean, encounter_name text, overlap_m numeric)
language sql stable begin atomic
  with recursive pair as materialized (
    select p.*, dense_rank() over (order by p.investigation_id, p.is_from_hole, p.encounter_name) as met
    from indication_pair_of(indication_match_of.drive_id) p
  ), walk as (
    select 0 as n, array[]::int[] as indications, array[]::bigint[] as mets, null::int as matched
    union all
    select walk.n + 1, case when free.is_free then walk.indications || pair.indication_id else walk.indications end,
      case when free.is_free then walk.mets || pair.met else walk.mets end, case when free.is_free then pair.preference end
    from walk
    join pair on pair.preference = walk.n + 1
    cross join lateral (select not pair.indication_id = any (walk.indications) and not pair.met = any (walk.mets) as is_free) free
  )
  select pair.investigation_id, pair.indication_id, pair.is_from_hole, pair.encounter_name, pair.overlap_m
  from walk join pair on pair.preference = walk.matched;
end;

comment on function indication_match_of(int) is
  'Indications of a drive with what was met, one to one within each investigation, by the greatest overlap. [m]';
