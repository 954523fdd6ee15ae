-- The hashed canonical form of what a valuation contains of a record. Declared stable, like what it calls, so that PostgreSQL inlines it.
create or replace function source_seal(reference text, source_key text, class_code text, sequence int, previous_quantity numeric, to_date_quantity numeric)
returns bytea language sql stable parallel safe
return sha256(convert_to(concat_ws('|', reference, source_key, class_code, sequence, trim_scale(previous_quantity), trim_scale(to_date_quantity)), 'UTF8'));

comment on function source_seal(text, text, text, int, numeric, numeric) is 'SHA-256 of what a valuation says of a record, in its canonical form.';
