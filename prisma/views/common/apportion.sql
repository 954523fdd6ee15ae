-- Share of a quantity given over [from_m, to_m) that falls in [cut_from_m, cut_to_m). Each end of the share is rounded
-- to 0.001 of the unit, counted from from_m, so that the shares of any set of cuts sum to the quantity exactly.
-- A quantity at one chainage (from_m = to_m) is not shared: it belongs to the cut that contains it.
create or replace function apportion(quantity numeric, from_m numeric, to_m numeric, cut_from_m numeric, cut_to_m numeric)
returns numeric language sql immutable parallel safe as $$
  select case
    when from_m = to_m then case when cut_from_m <= from_m and from_m < cut_to_m then quantity else 0 end
    when cut_to_m <= from_m or cut_from_m >= to_m then 0
    else round(quantity * (least(cut_to_m, to_m) - from_m) / (to_m - from_m), 3)
       - round(quantity * (greatest(cut_from_m, from_m) - from_m) / (to_m - from_m), 3)
  end
$$;

comment on function apportion(numeric, numeric, numeric, numeric, numeric) is
  'Share of a quantity given over an interval that falls in a cut of it; shares of any set of cuts sum to the quantity exactly.';
