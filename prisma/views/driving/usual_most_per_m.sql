-- Most of a support item that a metre of drive usually needs, in the item's unit: far more than is installed anywhere, so that a larger quantity
-- is a slip of the pen. For items that cover the wall, by its area of pi * diameter per metre; for rings, per metre.
create or replace function usual_most_per_m(kind support_kind, unit support_unit, diameter_m numeric)
returns numeric language sql immutable parallel safe
return case
    when unit = 'nr' and kind in ('rib', 'lattice_girder', 'invert_segment') then 5
    else round(circumference(diameter_m), 3) * case unit
      when 'nr' then case when kind in ('bolt', 'mesh') then 3 else 6 end
      when 'm' then case kind when 'bolt' then 18 else 40 end
      when 'm2' then 4
      when 'm3' then case kind when 'sprayed_concrete' then 0.6 when 'cavity_fill' then 10 else 2 end
      when 'kg' then case kind when 'cavity_fill' then 20000 else 1500 end
      when 't' then case kind when 'cavity_fill' then 20 else 1.5 end
    end
  end;

comment on function usual_most_per_m(support_kind, support_unit, numeric) is
  'Most of a support item that a metre of a drive of this diameter usually takes, in the item''s unit. [1/m]';
