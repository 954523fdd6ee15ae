-- Where the pieces of a counted line stand, one by one: along the drive, and on the ring. Without positions they stand
-- evenly along the line's interval, and lines that were there before keep that.
ALTER TABLE "support_installed" ADD COLUMN "positions_m" DECIMAL(9,3)[],
  ADD COLUMN "arc_positions_deg" DECIMAL(6,2)[];

-- Whether a list has no null in it and each element is at least the one before.
CREATE FUNCTION is_ascending(list numeric[]) RETURNS boolean LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
  SELECT array_ndims(list) = 1 AND array_position(list, NULL) IS NULL AND list = array(SELECT e FROM unnest(list) e ORDER BY e)
$$;

-- Whether each place on the ring lies on the arc, clockwise from its start to its end; 360 degrees are 0, and from 0 to 360 is all of it.
CREATE FUNCTION is_on_arc(places_deg numeric[], arc_from_deg numeric, arc_to_deg numeric) RETURNS boolean LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$
  SELECT NOT EXISTS (
    SELECT FROM unnest(places_deg) place
    WHERE mod(place - arc_from_deg + 720, 360) > arc_to_deg - arc_from_deg + CASE WHEN arc_to_deg < arc_from_deg THEN 360 ELSE 0 END)
$$;

ALTER TABLE support_installed
  ADD CONSTRAINT support_installed_positions CHECK (positions_m IS NULL OR (
    unit = 'nr' AND to_m > from_m AND cardinality(positions_m) = quantity AND is_ascending(positions_m)
    AND positions_m[1] >= from_m AND positions_m[cardinality(positions_m)] < to_m)),
  ADD CONSTRAINT support_installed_arc_positions CHECK (arc_positions_deg IS NULL OR (
    unit = 'nr' AND array_ndims(arc_positions_deg) = 1 AND cardinality(arc_positions_deg) = quantity AND array_position(arc_positions_deg, NULL) IS NULL
    AND 0 <= ALL (arc_positions_deg) AND 360 >= ALL (arc_positions_deg)
    AND (arc_from_deg IS NULL OR is_on_arc(arc_positions_deg, arc_from_deg, arc_to_deg)))),
  -- each piece is a row of a report: a slip of the pen must not make a million of them. Lines that were there before are not held to it
  ADD CONSTRAINT support_installed_pieces CHECK (unit <> 'nr' OR quantity <= 10000) NOT VALID;

COMMENT ON COLUMN support_installed.positions_m IS 'Where the pieces of a counted line stand, in their order along the drive; null: evenly along its interval, or all at its place. [driven m]';
COMMENT ON COLUMN support_installed.arc_positions_deg IS 'Where the same pieces stand on the ring, clockwise from the crown. [°]';

ALTER TABLE history.support_installed ADD COLUMN positions_m DECIMAL(9,3)[],
  ADD COLUMN arc_positions_deg DECIMAL(6,2)[];
SELECT history.keep('support_installed');
