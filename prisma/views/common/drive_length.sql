-- The length of a drive, in whichever direction it runs along the chainage.
create or replace function drive_length(start_chainage_m numeric, end_chainage_m numeric) returns numeric language sql immutable parallel safe as $$
  select abs(end_chainage_m - start_chainage_m)
$$;

comment on function drive_length(numeric, numeric) is 'Length of a drive from one chainage [m] to another. [m]';
