-- One row per line of a shift's support list with what it measures by the current dimensions of its item in the catalogue, in
-- numbers alone: support_measure_row describes it. Each figure is rounded once, to 0.001 of its unit; null: the kind has no
-- such figure, or an input is missing, which missing identifies.
--
-- Arc: the line's, clockwise from arc_from_deg to arc_to_deg; for bolts without one, the pattern's. An arc of 0 degrees is a
-- position on the ring and has no area. Length: along the interval; a row of bolts at one chainage represents one longitudinal
-- spacing of its pattern. Arcs are measured on the bored diameter.
create or replace function support_inputs(missing int)
returns text[] language sql immutable parallel safe return array(
  select i.name from unnest(array['length of the item', 'arc of the line or of the pattern', 'interval of the line or spacing of the pattern',
    'lap allowance of the item', 'mass by area of the item', 'mass by length of the item', 'length or centre-line diameter of the item',
    'arc of the line', 'interval of the line', 'thickness of the line or the item', 'delivered volume of the line', 'rebound of the item',
    'overbreak allowance of the item', 'mass of the item']) with ordinality i(name, n)
  where (support_inputs.missing >> (i.n - 1)::int) & 1 = 1 order by i.n);

comment on function support_inputs(int) is 'The inputs that a figure of a support line lacks, from the bits of support_measured.missing.';
