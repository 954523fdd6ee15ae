-- Whether a line is looked for by where it begins, from the first one on that reaches into what is laid: not here, where a whole drive is laid, and the planner
-- takes a span with two ends for a short one. In schema report_since it is.
create or replace function is_looked_for(from_m numeric, first_m numeric) returns boolean language sql immutable parallel safe as $$ select true $$;

comment on function is_looked_for(numeric, numeric) is 'Whether a line is looked for by where it begins: true, as all lines of a drive are read.';
