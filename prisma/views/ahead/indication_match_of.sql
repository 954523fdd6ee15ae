-- The pairs of indication_pair_of that are matched: taken in order of preference, each pair whose indication and whose encounter have not
-- been matched before within the investigation. One to one within an investigation; each investigation is compared separately.
create or replace function indication_match_of(drive_id int)
returns table (
  investigation_id int, indication_id int, is_from_hole boolean, encounter_name text, overlap_m numeric, kind indication_kind, met_from_m numeric)
language sql stable begin atomic
  with pair as materialized (
    select p.*, dense_rank() over (order by p.investigation_id, p.is_from_hole, p.encounter_name, p.kind, p.met_from_m)::int as met
    from indication_pair_of(indication_match_of.drive_id) p
  ), investigated as materialized (
    select p.investigation_id, array_agg(p.indication_id order by p.preference) as indications, array_agg(p.met order by p.preference) as mets,
      array_agg(p.preference order by p.preference) as preferences
    from pair p group by p.investigation_id
  ), matched as materialized (
    select walked.preference
    from investigated v
    cross join lateral (
      with recursive walk as (
        select 0 as n, array[]::int[] as indications, array[]::int[] as mets, null::int as preference
        union all
        select walk.n + 1, case when free.is_free then walk.indications || v.indications[walk.n + 1] else walk.indications end,
          case when free.is_free then walk.mets || v.mets[walk.n + 1] else walk.mets end, case when free.is_free then v.preferences[walk.n + 1] end
        from walk
        cross join lateral (
          select not v.indications[walk.n + 1] = any (walk.indications) and not v.mets[walk.n + 1] = any (walk.mets) as is_free
        ) free
        where walk.n < cardinality(v.preferences)
      )
      select walk.preference from walk where walk.preference is not null
    ) walked
  )
  select p.investigation_id, p.indication_id, p.is_from_hole, p.encounter_name, p.overlap_m, p.kind, p.met_from_m
  from matched join pair p on p.preference = matched.preference;
end;

comment on function indication_match_of(int) is
  'Indications of a drive with what was met, one to one within each investigation, by the greatest overlap. overlap_m, met_from_m: [m].';
