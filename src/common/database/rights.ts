import pg from 'pg';
import { APP_ROLE, BI_ROLE, READER_ROLE } from './roles.js';

/** By default everybody may execute a new function. One that runs with its owner's rights is restricted to the roles named in its migration. */
const CLOSE_FUNCTIONS = `do $$
  declare f regprocedure;
  begin
    for f in select oid from pg_proc
      where pronamespace::regnamespace::text in ('public', 'history', 'as_of', 'report', 'report_as_of', 'report_kept', 'report_since') and prosecdef
        and pg_has_role(proowner, 'usage') and has_function_privilege('public', oid, 'execute')
    loop
      execute format('revoke execute on function %s from public', f);
    end loop;
  end $$`;

/**
 * By default everybody may take advisory locks, on which the service's writes depend, and store large objects. With the first, a
 * read-only login could block every write, without a transaction that a time limit would end; with the second, it could fill the
 * disk. Where the owner is not a superuser, a superuser must run this (docs/operations/database-roles.md).
 */
const CLOSE_SERVER_FUNCTIONS = `do $$
  declare f regprocedure;
  begin
    for f in select oid from pg_proc
      where pronamespace = 'pg_catalog'::regnamespace
        and (proname ~ '^pg_(try_)?advisory_' or proname in ('lo_creat', 'lo_create', 'lo_from_bytea', 'pg_logical_emit_message'))
        and pg_has_role(proowner, 'usage') and has_function_privilege('public', oid, 'execute')
    loop
      execute format('grant execute on function %s to current_user, ${APP_ROLE}', f);
      execute format('revoke execute on function %s from public', f);
    end loop;
  end $$`;

/** Tables that reports do not need: access rights, keys of machines, and what secrets are derived from. */
const NOT_FOR_READERS = `'member', 'api_key', 'api_key_use', 'administrator', 'webhook_secret', 'bi_grant'`;

/** Also without the service's own working data: answered requests, and messages being sent. */
const NOT_FOR_BI = `${NOT_FOR_READERS}, 'idempotency_key', 'webhook_endpoint', 'outgoing_message', 'webhook_delivery', 'job'`;

/** A BI login reads the rows of the projects granted to it, whatever the session's settings. */
const OF_ITS_PROJECTS = `create policy bi_only on %1$s as restrictive for select to ${BI_ROLE}
  using (%2$I = any ((select public.bi_projects())::int[]))`;

/** A database not migrated that far has nothing to grant yet. */
const ASK_ITS_PROJECTS = `if to_regproc('public.bi_projects') is null then return; end if;
    grant execute on function public.bi_projects to ${BI_ROLE};`;

/**
 * Of the history, a reader sees when each record of these tables last changed (report.record_changed), but neither who changed it
 * nor what it was before.
 */
const SEEN_OF_HISTORY = {
  'project, party, activity_code, equipment, ground_class, support_item, machine, machine_revision, working_zone, drive':
    'id, project_id, from_change, to_change',
  'shift, probe_hole, inflow_measurement, bill, pay_item, valuation':
    'id, drive_id, project_id, from_change, to_change',
  change: 'project_id, number, made_at',
};

/** Of their versions, the one that stands: earlier ones and removed records are not seen. */
const STANDS = 'to_change = 9223372036854775807';

interface Opening {
  role: string;
  /** tables excluded */
  except: string;
  /** row policies on each table, as format() strings with the table and its project column */
  policies: string[];
  /** SQL to run first */
  first?: string;
}

/**
 * The views check row-level security as their reader, so the role needs to read the tables too, in their current state. Rights
 * that it already has are not granted again.
 */
const opened = ({ role, except, policies, first = '' }: Opening): string => {
  const perTable = policies
    .map((policy) => `execute format(${pg.escapeLiteral(policy)}, t, of_project);`)
    .join('\n      ');
  const seen = Object.entries(SEEN_OF_HISTORY)
    .map(([tables, columns]) => `('${tables}', '${columns}')`)
    .join(', ');
  return `do $$
  declare
    t regclass;
    of_project name;
    columns text;
  begin
    if not exists (select from pg_roles where rolname = '${role}') then return; end if;
    ${first}
    if not has_schema_privilege('${role}', 'report', 'usage') then
      grant usage on schema report to ${role};
    end if;
    for t, of_project in select polrelid, case relname when 'project' then 'id' else 'project_id' end from pg_policy p
        join pg_class c on c.oid = polrelid
      where polname = 'in_scope' and relnamespace = 'public'::regnamespace and relname not in (${except})
        and not exists (select from pg_policy r where r.polrelid = p.polrelid and '${role}'::regrole = any (r.polroles))
    loop
      ${perTable}
    end loop;
    of_project := 'project_id';
    for t, columns in select to_regclass('history.' || name), seen
        from (values ${seen}) s (names, seen) cross join regexp_split_to_table(names, ', ') name
      where to_regclass('history.' || name) is not null
    loop
      if not exists (select from pg_policy where polrelid = t and '${role}'::regrole = any (polroles)) then
        ${perTable}
        execute format('grant select (%s) on %s to ${role}', columns, t);
      end if;
      if t <> 'history.change'::regclass and not exists (select from pg_policy where polrelid = t and polname = '${role}_stands') then
        execute format('create policy ${role}_stands on %s as restrictive for select to ${role} using (${STANDS})', t);
      end if;
    end loop;
    if to_regnamespace('history') is not null and not has_schema_privilege('${role}', 'history', 'usage') then
      grant usage on schema history to ${role};
    end if;
    for t in select oid from pg_class c where relkind in ('r', 'p', 'v') and not relispartition
        and not has_table_privilege('${role}', oid, 'select')
        and (relnamespace = 'report'::regnamespace
          or relnamespace = 'public'::regnamespace and relname not in (${except})
            and exists (select from pg_policy p where polrelid = c.oid and polname = 'in_scope'))
    loop
      execute format('grant select on %s to ${role}', t);
    end loop;
  end $$`;
};

const OPENINGS = [
  {
    role: READER_ROLE,
    except: NOT_FOR_READERS,
    policies: [`create policy reader on %1$s for select to ${READER_ROLE} using (true)`],
  },
  {
    role: BI_ROLE,
    except: NOT_FOR_BI,
    policies: [OF_ITS_PROJECTS, `create policy bi on %1$s for select to ${BI_ROLE} using (true)`],
    first: ASK_ITS_PROJECTS,
  },
];

/** Sets the rights on everything that migrations and views have created. */
export const applyRights = async (client: pg.Client): Promise<void> => {
  await client.query(CLOSE_FUNCTIONS);
  await client.query(CLOSE_SERVER_FUNCTIONS);
  for (const opening of OPENINGS) await client.query(opened(opening));
};
