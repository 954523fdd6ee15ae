-- The party for which somebody signed, as one object in the answer, even if no reason was required for one party signing twice.
create or replace function signed_for(party jsonb) returns jsonb language sql immutable parallel safe as $$ select '{"oneParty": null}' || party $$;

comment on function signed_for(jsonb) is 'A party as it was signed for, as JSON: code, name, kind, side, and why one party signed twice.';
