-- The hashed canonical form of a line: what two people sign.
create or replace function line_seal(bill_version text, reference text, exact_quantity numeric, to_date_quantity numeric, held_quantity numeric,
  previous_amount numeric, to_date_amount numeric, digest text)
returns bytea language sql immutable parallel safe as $$
  select sha256(convert_to(concat_ws('|', bill_version, reference, trim_scale(exact_quantity), trim_scale(to_date_quantity), trim_scale(held_quantity),
    trim_scale(previous_amount), trim_scale(to_date_amount), digest), 'UTF8'))
$$;

comment on function line_seal(text, text, numeric, numeric, numeric, numeric, numeric, text) is 'SHA-256 of a line of a valuation in its canonical form.';
