-- A reading as given, with every digit, whatever the session's float format.
create or replace function as_given(reading float8)
returns numeric language sql immutable parallel safe set extra_float_digits = 1 as $$ select reading::text::numeric $$;

comment on function as_given(float8) is 'A reading with every digit that was posted, in its own unit.';
