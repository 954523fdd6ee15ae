-- What a hole of a grouting round took: the sums of its mixes. The volume is unknown if that of any mix is.
create or replace function grout_taken(grout_hole_id int) returns table (mass_kg numeric, volume_l numeric, water_kg numeric, cement_kg numeric)
language sql stable rows 1 begin atomic
  select coalesce(sum(x.mass_kg), 0.000), case when count(*) = count(x.volume_l) then coalesce(sum(x.volume_l), 0.000) end,
    sum(x.water_cement_ratio * x.mass_kg), sum(x.mass_kg) filter (where x.water_cement_ratio is not null)
  from grout_mix x where x.grout_hole_id = grout_taken.grout_hole_id;
end;

comment on function grout_taken(int) is
  'What a hole took: mass [kg], volume [l; null where that of any mix is not known], water and cement of the mixes whose ratio is known [kg].';
