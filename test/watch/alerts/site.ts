import { app, drive } from '../../harness/own-drives.js';

export type Row = Record<string, unknown>;

export const PROJECT = '/v1/projects/P1';

/** Sends a request and expects 2xx. */
export const done = async (method: 'put' | 'post' | 'delete', path: string, body?: object): Promise<Row> => {
  const { status, body: answer, text } = await app.http[method](path).send(body);
  if (status >= 300) throw new Error(`${method} ${path}: ${status} ${text}`);
  return answer as Row;
};

/** Replaces an existing record. */
export const replaced = async (path: string, body: object): Promise<void> => {
  const { headers } = await app.http.get(path);
  const { status, text } = await app.http.put(path).set('if-match', String(headers.etag)).send(body);
  if (status >= 300) throw new Error(text);
};

/** A rule for the drive of the current case. */
export const rule = (kind: string, threshold?: string, more: Row = {}): Promise<Row> =>
  done('put', `${PROJECT}/alert-rules/${drive}-${kind}`, { kind, drive, threshold, ...more });

export const alerts = async (query: Row = {}): Promise<Row[]> => {
  const { status, body, text } = await app.http.get(`${PROJECT}/alerts`).query({ drive, ...query });
  if (status !== 200) throw new Error(text);
  return (body as { items: Row[] }).items;
};

/** Kind and subject of the alerts, open or cleared. */
export const open = async (): Promise<string[]> => named(await alerts({ state: 'open' }));
export const cleared = async (): Promise<string[]> => named(await alerts({ state: 'cleared' }));

const named = (rows: Row[]): string[] => rows.map(({ kind, subject }) => `${kind} ${subject}`);

/** Runs the alert clock on the drive of the current case, as the service does. */
export const clock = async (): Promise<number | null> => {
  const [found] = await app.sql<{ id: number; project_id: number }>(
    'select id, project_id from drive where code = $1',
    [drive],
  );
  if (!found) throw new Error('no drive');
  const [moved] = await app.sql<{ moved: number | null }>(
    `with scope as materialized (select set_config('drivebook.project', $1, true), set_config('drivebook.actor', 'drivebook', true))
      select raise_alerts($2) as moved from scope`,
    [String(found.project_id), found.id],
  );
  return moved?.moved ?? null;
};

/** A local date this many days before today; the trial project uses UTC. */
export const daysAgo = (days: number): string =>
  new Date(Date.now() - days * 86_400_000).toISOString().slice(0, 10);
