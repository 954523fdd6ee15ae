-- measure_ground_of with each kind of ground as one text, by which two grounds can be compared, whatever the numbers of their kinds.
create or replace function ground_words_of(drive_id int)
returns table (starts_mm int[], kinds int[], words text[])
language sql stable strict rows 1 begin atomic
  select g.starts_mm, g.kinds, (
    select array_agg(jsonb_build_array(g.class_codes[n], g.bases[n], g.lithologies[n], g.contested_class_codes[n], g.contested[n])::text order by n)
    from generate_series(1, cardinality(g.class_codes)) n)
  from measure_ground_of(ground_words_of.drive_id) g;
end;

comment on function ground_words_of(int) is 'The ground of a drive as payment sees it: where it changes [driven mm], to which kind, and each kind in words.';
