-- Whether a line is looked for by where it begins: only a short piece of the drive is laid, and none that begins before the first one reaches into it.
create or replace function is_looked_for(from_m numeric, first_m numeric) returns boolean language sql immutable parallel safe as $$ select from_m >= first_m $$;

comment on function is_looked_for(numeric, numeric) is 'Whether a line is looked for by where it begins: from the first one on that reaches into what is laid.';
