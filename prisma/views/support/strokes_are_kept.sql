-- Whether what strokes lack is read as it is kept, not judged. A constant of the schema, false here: a plan holds one of the two ways.
create or replace function strokes_are_kept() returns boolean language sql immutable parallel safe as $$ select false $$;

comment on function strokes_are_kept() is 'Whether what strokes lack is read as it is kept, not judged: false in this schema.';
