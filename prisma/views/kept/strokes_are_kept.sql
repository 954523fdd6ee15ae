-- Strokes are not assessed here: their shortfall is cached.
create or replace function strokes_are_kept() returns boolean language sql immutable parallel safe as $$ select true $$;

comment on function strokes_are_kept() is 'Whether the shortfall of strokes is read from the cache instead of assessed: true in this schema.';
