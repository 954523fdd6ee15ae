-- Whether all of a hole lies in a sector of the ring, however long it is: its position must, and every direction from there the shorter way
-- round to its azimuth, which the hole approaches as it gets longer. Both ends belong to the sector; a sector from a position to itself (also
-- 0 to 360) is the whole ring. A hole that looks straight across the axis lies in no other sector. [°]
create or replace function probe_in_sector(position_deg numeric, azimuth_deg numeric, from_deg numeric, to_deg numeric)
returns boolean language sql immutable parallel safe
return angle_round(from_deg, to_deg) = 0 or (
  mod(azimuth_deg - position_deg + 540, 360) <> 0
  and angle_round(from_deg, position_deg) <= angle_round(from_deg, to_deg)
  and angle_round(from_deg, position_deg) + mod(azimuth_deg - position_deg + 540, 360) - 180 between 0 and angle_round(from_deg, to_deg));

comment on function probe_in_sector(numeric, numeric, numeric, numeric) is
  'Whether all of a probe hole lies in a sector of the ring, by the clock positions of its collar and its look-out azimuth. [°]';
