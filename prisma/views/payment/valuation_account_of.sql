-- The lines of a valuation in payment order: the versions of the bill by their first day, the groups by their first item. Each line has the sums of its
-- group and of its version, and those carried forward from the first line; all are sums of rounded amounts. It takes the lines of valuation_document,
-- so that a caller who has them need not measure again.
create or replace function valuation_account_of(lines json)
returns table (line_number int, bill_version text, group_code text, group_title text, reference text, description text, unit text, rate numeric,
  bill_quantity numeric, previous_quantity numeric, quantity numeric, to_date_quantity numeric, held_quantity numeric, percent_of_bill numeric,
  previous_amount numeric, amount numeric, to_date_amount numeric, group_previous_amount numeric, group_amount numeric, group_to_date_amount numeric,
  version_previous_amount numeric, version_amount numeric, version_to_date_amount numeric, carried_previous_amount numeric, carried_amount numeric,
  carried_to_date_amount numeric, incomplete_count int, basis text, contested jsonb, rounded_with text[],
  deemed_shifts text[])
language sql immutable parallel safe begin atomic
  with line as (
    select l.*, min(l.place) over (partition by l.version) as version_place, min(l.place) over (partition by l.version, l."groupCode") as group_place
    from rows from (json_to_recordset(valuation_account_of.lines) as (version text, "groupCode" text, "groupTitle" text, reference text, description text,
      unit text, rate numeric, "billQuantity" numeric, "previousQuantity" numeric, quantity numeric, "toDateQuantity" numeric, "heldQuantity" numeric,
      "previousAmount" numeric, amount numeric, "toDateAmount" numeric, "incompleteCount" int, basis text, contested jsonb,
      "roundedWith" text[], "deemedShifts" text[])) with ordinality
      as l (version, "groupCode", "groupTitle", reference, description, unit, rate, "billQuantity", "previousQuantity", quantity, "toDateQuantity",
        "heldQuantity", "previousAmount", amount, "toDateAmount", "incompleteCount", basis, contested, "roundedWith", "deemedShifts", place)
  )
  select (row_number() over down)::int, version, "groupCode", "groupTitle", reference, description, unit, rate, "billQuantity", "previousQuantity", quantity,
    "toDateQuantity", "heldQuantity", round(100 * "toDateQuantity" / nullif("billQuantity", 0), 1), "previousAmount", amount, "toDateAmount",
    sum("previousAmount") over within_group, sum(amount) over within_group, sum("toDateAmount") over within_group,
    sum("previousAmount") over within_version, sum(amount) over within_version, sum("toDateAmount") over within_version,
    sum("previousAmount") over down, sum(amount) over down, sum("toDateAmount") over down, "incompleteCount", basis, contested,
    "roundedWith", "deemedShifts"
  from line
  window within_group as (partition by version, "groupCode"), within_version as (partition by version),
    down as (order by version_place, group_place, place rows unbounded preceding)
  order by 1;
end;

comment on function valuation_account_of(json) is
  'The lines of valuation_document in the order in which a valuation is paid by, with the sums of their group and version of the bill, and those carried down '
  'to them. [unit of the item; currency; %]';
