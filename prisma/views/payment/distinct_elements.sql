-- The elements of a JSON array, each once, in order; empty for null.
create or replace function distinct_elements(list jsonb) returns jsonb language sql immutable parallel safe as $$
  select case when list is not null then (select jsonb_agg(distinct element) from jsonb_array_elements(list) element) end
$$;

comment on function distinct_elements(jsonb) is 'The elements of a JSON array, each once; null of none.';
