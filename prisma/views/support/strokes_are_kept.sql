-- Whether the shortfall of strokes is read from the cache instead of assessed. A constant of the schema, false here: a plan contains one of the two ways.
create or replace function strokes_are_kept() returns boolean language sql immutable parallel safe as $$ select false $$;

comment on function strokes_are_kept() is 'Whether the shortfall of strokes is read from the cache instead of assessed: false in this schema.';
