-- In which row each piece stands, of pieces in the order of their places: a row begins with the first that stands farther from the beginning
-- of the row before than the reach given with it. A row so never grows beyond a reach, however densely pieces follow.
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
