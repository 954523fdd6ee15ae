-- Published ranges for pre-grouting ahead of Norwegian tunnels, to detect figures that are far from them: one row per figure.
-- Source: NFF Publication 14, read in a summary of it. The edition is data: another edition is another row.
create or replace function grouting_published_range()
returns table (figure text, low numeric, high numeric, unit text, source text)
language sql immutable parallel safe as $$
  values
    ('pressure_end_bar', 30::numeric, 100::numeric, 'bar', 'NFF 14: 3 to 8 MPa, at most 10'),
    ('water_cement_ratio', 0.4, 2.0, '', 'NFF 14'),
    ('take_kg_per_m2', 14, 103, 'kg/m2', 'NFF 14'),
    ('hole_m_per_m2', 0.57, 2.1, 'm/m2', 'NFF 14')
$$;
comment on function grouting_published_range() is
  'Ranges of pre-grouting as published (NFF Publication 14, read in a summary of it): figure, lowest and highest value, unit, source.';
