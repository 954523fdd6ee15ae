-- The row of each piece, given pieces in order of position: a new row begins with the first piece that lies farther from the beginning of the
-- previous row than the reach given with it. So a row never exceeds a reach, however dense the pieces.
create or replace function rows_of_pieces(places bigint[], reaches bigint[])
returns int[] language plpgsql immutable parallel safe as $$
declare
  numbers int[] := '{}';
  number int := 0;
  begins bigint;
begin
  for i in 1 .. coalesce(cardinality(places), 0) loop
    if begins is null or places[i] - begins > reaches[i] then begins := places[i]; number := number + 1; end if;
    numbers := numbers || number;
  end loop;
  return numbers;
end $$;

comment on function rows_of_pieces(bigint[], bigint[]) is
  'Number of the row of each piece, by rising places and how far a row reaches from its first piece, in the same unit.';
