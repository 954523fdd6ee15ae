-- The same for the valuations.
create or replace view valuation_account as
select d.project_code, d.drive_code, d.valuation_number, d.state, d.cut_off, d.currency, a.*, d.drive_id, d.valuation_id
from valuation_document d
cross join lateral valuation_account_of(d.lines) a;

comment on view valuation_account is
  'One row per line of a valuation in the order in which it is paid by, with the sums of its group and version of the bill, and those carried down to it.';
comment on column valuation_account.line_number is 'Place of the line: 1, 2, 3 … in a valuation.';
comment on column valuation_account.percent_of_bill is 'Quantity to date of the quantity of the bill, rounded once; null where the bill has only a rate. [%]';
comment on column valuation_account.group_amount is 'Sum of the rounded amounts of its group in its version of the bill. [currency]';
comment on column valuation_account.version_amount is 'Sum of the rounded amounts of its version of the bill. [currency]';
comment on column valuation_account.carried_amount is 'Sum of the rounded amounts from the first line to this one. [currency]';
