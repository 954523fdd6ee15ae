import type { Send } from '../database/transaction.js';

/** A stored answer, to be sent again. */
export interface KeptAnswer {
  fingerprint: string;
  request: string;
  madeAt: Date;
  status: number;
  headers: Record<string, string>;
  body: string | null;
}

/** A key belongs to its sender, in the project of the scope, for one route. */
export interface KeyOfRoute {
  actor: string;
  route: string;
  key: string;
}

// Held until the end of the transaction that carries the request out, across all instances.
const TAKE = `select pg_try_advisory_xact_lock(hashtextextended('drivebook.idempotency_key ' || $1, 0)) as taken`;

const FIND = `select fingerprint, request, made_at as "madeAt", status, headers, body from idempotency_key
  where project_id = scope_project() and actor = $1 and route = $2 and key = $3 and made_at > now() - interval '1 day'`;

// Removes at most a hundred, skipping those that others are removing.
const REMOVE_OLD = `delete from idempotency_key where project_id = scope_project() and (actor, route, key) in (
  select actor, route, key from idempotency_key where project_id = scope_project() and made_at <= now() - interval '1 day'
  limit 100 for update skip locked)`;

const KEEP = `insert into idempotency_key (actor, route, key, fingerprint, request, status, headers, body)
  values ($1, $2, $3, $4, $5, $6, $7::jsonb, $8)
  on conflict (project_id, actor, route, key) do update set fingerprint = excluded.fingerprint, request = excluded.request,
    made_at = excluded.made_at, status = excluded.status, headers = excluded.headers, body = excluded.body`;

/** Takes the key for this transaction. @returns the answer stored under it; 'in_progress' while another request holds the key */
export const takeKey = async (
  send: Send,
  project: number,
  { actor, route, key }: KeyOfRoute,
): Promise<KeptAnswer | 'in_progress' | undefined> => {
  const [taken, found] = await Promise.all([
    send(TAKE, JSON.stringify([project, actor, route, key])),
    send(FIND, actor, route, key), // a separate statement, to see what the previous holder of the key has written
  ]);
  if (!(taken.rows as { taken: boolean }[])[0]?.taken) return 'in_progress';
  return (found.rows as KeptAnswer[])[0];
};

/** Stores the answer under its key, in the transaction of its effect; expired keys are removed. */
export const keepAnswer = async (
  send: Send,
  { actor, route, key }: KeyOfRoute,
  { fingerprint, request, status, headers, body }: Omit<KeptAnswer, 'madeAt'>,
): Promise<void> => {
  await Promise.all([
    send(REMOVE_OLD),
    send(KEEP, actor, route, key, fingerprint, request, status, JSON.stringify(headers), body),
  ]);
};
