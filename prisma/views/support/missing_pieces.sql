-- Whole pieces missing from strokes, given the shortfall of each (in pieces, negative: surplus) and its tolerance. Less than a whole
-- piece is not missing; it is carried to the next stroke of the run, and a piece is missing when the carried shortfall reaches one and
-- exceeds its tolerance. A surplus in a stroke fills what is carried, and nothing before or after. One row per stroke that lacks a
-- piece. Most strokes lack nothing and have nothing carried to them: these are skipped first.
create or replace function missing_pieces(cells int[], lacks numeric[], tolerated numeric[])
returns table (cell int, missing int)
language plpgsql immutable parallel safe as $$
declare
  carried numeric := 0;
  allowed numeric := 0;
  before int;
begin
  for i in 1 .. coalesce(cardinality(cells), 0) loop
    continue when carried = 0 and lacks[i] <= 0;
    if cells[i] is distinct from before + 1 then carried := 0; allowed := 0; end if;
    before := cells[i];
    carried := carried + lacks[i];
    allowed := allowed + tolerated[i];
    if carried <= 0 then
      carried := 0; allowed := 0;
    elsif carried >= 1 and carried > allowed then
      missing := floor(carried);
      carried := carried - missing; allowed := 0;
      cell := cells[i];
      return next;
    end if;
  end loop;
end $$;

comment on function missing_pieces(int[], numeric[], numeric[]) is
  'Whole pieces missing in strokes that follow one another, by what each lacks and what is tolerated; parts of a piece are carried on.';
