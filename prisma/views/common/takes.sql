-- Whether a rule's list of names includes a record: an absent list includes everything.
create or replace function takes(named text[], value text) returns boolean language sql immutable parallel safe as $$
  select named is null or value = any (named)
$$;

comment on function takes(text[], text) is 'Whether a rule that names these takes a record of this one; a rule that names none takes all.';
