-- Whole pieces missing from strokes, given the shortfall of each (in pieces, negative: surplus) and its tolerance. Less than a whole
-- piece is not missing; it is carried to the next stroke of the run, and a piece is missing when the carried shortfall reaches one and
-- exceeds its tolerance. A surplus in a stroke fills what is carried, and nothing before or after. One row per stroke that lacks a
-- piece. Most strokes lack nothing and have nothing carried to them: these are skipped first.
-- What is carried into stroke 1 is given. Strokes whose number is a multiple of step also have a row if they carry something on, so that an
-- assessment can later start after them.
create or replace function missing_pieces(cells int[], lacks numeric[], tolerated numeric[], carried_in numeric, allowed_in numeric, step int)
returns table (cell int, missing int, carried numeric, allowed numeric)
language plpgsql immutable parallel safe as $$
declare
  before int := 0;
begin
  carried := carried_in;
  allowed := allowed_in;
  for i in 1 .. coalesce(cardinality(cells), 0) loop
    continue when carried = 0 and lacks[i] <= 0;
    if cells[i] is distinct from before + 1 then carried := 0; allowed := 0; end if;
    before := cells[i];
    carried := carried + lacks[i];
    allowed := allowed + tolerated[i];
    missing := 0;
    if carried <= 0 then
      carried := 0; allowed := 0;
    elsif carried >= 1 and carried > allowed then
      missing := floor(carried);
      carried := carried - missing; allowed := 0;
    end if;
    if missing > 0 or carried > 0 and before % step = 0 then
      cell := before;
      return next;
    end if;
  end loop;
end $$;

comment on function missing_pieces(int[], numeric[], numeric[], numeric, numeric, int) is
  'Whole pieces missing in strokes that follow one another, by what each lacks and what is tolerated; parts of a piece are carried on. carried_in, allowed_in: '
  'what is carried into stroke 1, and what of it is tolerated; step: strokes whose number divides by it have a row too if something is carried on from them.';
