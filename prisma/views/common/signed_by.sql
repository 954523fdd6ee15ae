-- Whether two signatures come from both sides of the contract, by their parties as recorded at the time.
create or replace function signed_by(first jsonb, second jsonb, is_signed boolean) returns text language sql immutable parallel safe as $$
  select case when not is_signed then null when first is null or second is null then 'parties_not_recorded'
    when first->>'side' = second->>'side' then 'one_party' else 'two_parties' end
$$;

comment on function signed_by(jsonb, jsonb, boolean) is 'two_parties, one_party or parties_not_recorded; null: not signed by a second person.';
