-- Strokes are not judged here: what they lack is kept.
create or replace function strokes_are_kept() returns boolean language sql immutable parallel safe as $$ select true $$;

comment on function strokes_are_kept() is 'Whether what strokes lack is read as it is kept, not judged: true in this schema.';
