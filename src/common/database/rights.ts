import type pg from 'pg';
import { READER_ROLE } from './roles.js';

/** PostgreSQL lets everybody run a new function. One that runs for its owner is run only by whom its migration names. */
const CLOSE_FUNCTIONS = `do $$
  declare f regprocedure;
  begin
    for f in select oid from pg_proc
      where pronamespace::regnamespace::text in ('public', 'history', 'as_of', 'report', 'report_as_of', 'report_kept') and prosecdef
        and pg_has_role(proowner, 'usage') and has_function_privilege('public', oid, 'execute')
    loop
      execute format('revoke execute on function %s from public', f);
    end loop;
  end $$`;

/** Of no concern to a report: who may do what, the keys of machines, and what secrets are derived from. */
const NOT_FOR_READERS = `('member', 'api_key', 'api_key_use', 'administrator', 'webhook_secret')`;

/**
 * Views ask for their reader's rows, so the reader may read the tables too: every row, of the record as it stands. What
 * it has already is not granted again.
 */
const OPEN_TO_READER = `do $$
  declare t regclass;
  begin
    if not exists (select from pg_roles where rolname = '${READER_ROLE}') then return; end if;
    if not has_schema_privilege('${READER_ROLE}', 'report', 'usage') then
      grant usage on schema report to ${READER_ROLE};
    end if;
    for t in select oid from pg_class c where relkind in ('r', 'p', 'v') and not relispartition
        and not has_table_privilege('${READER_ROLE}', oid, 'select')
        and (relnamespace = 'report'::regnamespace
          or relnamespace = 'public'::regnamespace and relname not in ${NOT_FOR_READERS}
            and exists (select from pg_policy p where polrelid = c.oid and polname = 'in_scope'))
    loop
      execute format('grant select on %s to ${READER_ROLE}', t);
    end loop;
    for t in select polrelid from pg_policy p join pg_class c on c.oid = polrelid
      where polname = 'in_scope' and relnamespace = 'public'::regnamespace and relname not in ${NOT_FOR_READERS}
        and not exists (select from pg_policy r where r.polrelid = p.polrelid and r.polname = 'reader')
    loop
      execute format('create policy reader on %s for select to ${READER_ROLE} using (true)', t);
    end loop;
  end $$`;

/** Brings the rights on what the migrations and views have made to what they should be. */
export const applyRights = async (client: pg.Client): Promise<void> => {
  await client.query(CLOSE_FUNCTIONS);
  await client.query(OPEN_TO_READER);
};
