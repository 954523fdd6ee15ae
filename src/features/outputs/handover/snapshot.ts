import type { Readable } from 'node:stream';
import pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import { openSession, SET_GROUND } from '../../../common/database/session.js';
import type { Scope } from '../../../common/database/scope.js';

/** Rows fetched at a time. */
const AT_ONCE = 1000;

/** Settings for text that is the same on every server: in UTC, without the rounding of answers. */
const PLAIN = `set_config('datestyle', 'ISO, YMD', true), set_config('intervalstyle', 'iso_8601', true), set_config('extra_float_digits', '1', true),
  set_config('bytea_output', 'hex', true), set_config('cursor_tuple_fraction', '1', true)`;

export type Row = (string | null)[];

/** One state of a project's record, read as the service's role over a separate connection. */
export class Snapshot {
  private constructor(
    private readonly client: pg.Client,
    readonly projectId: number,
    /** For other sessions that read the same state. */
    readonly id: string,
    /** Moment of the state, by the database's clock. */
    readonly madeAt: string,
    readonly server: string,
  ) {}

  /** @param url  database, as used by the service or a command */
  static async open(url: string, { projectId, actor }: Scope): Promise<Snapshot> {
    const client = new pg.Client({ connectionString: url, keepAlive: true });
    client.on('error', () => undefined); // the statement in progress reports the failure
    await client.connect();
    try {
      await openSession(client);
      await client.query('begin isolation level repeatable read read only');
      await client.query(
        `select ${SET_GROUND}, ${PLAIN}, set_config('drivebook.project', $1, true), set_config('drivebook.actor', $2, true)`,
        [String(projectId), actor],
      );
      const { rows } = await client.query<{ id: string; madeAt: string; server: string }>(
        `select pg_export_snapshot() as id, to_char(now() at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') as "madeAt", current_setting('server_version') as server`,
      );
      const [state] = rows;
      if (!state) throw new Error('PostgreSQL gave no snapshot.');
      return new Snapshot(client, projectId, state.id, state.madeAt, state.server);
    } catch (error) {
      await client.end();
      throw error;
    }
  }

  async query<T extends object>(sql: string, values: unknown[] = []): Promise<T[]> {
    return (await this.client.query<T>(sql, values)).rows;
  }

  /** Rows of a query whose columns are text, fetched in groups by a server-side cursor: with little memory, however many. */
  async *rows(sql: string): AsyncGenerator<Row[], void> {
    await this.client.query(`declare walk no scroll cursor for ${sql}`);
    for (;;) {
      const { rows } = await this.client.query<Row>({
        text: `fetch ${AT_ONCE} from walk`,
        rowMode: 'array',
      });
      if (rows.length > 0) yield rows;
      if (rows.length < AT_ONCE) break;
    }
    await this.client.query('close walk');
  }

  /** Rows of a query in COPY's text format. */
  copy(sql: string): Readable {
    return this.client.query(copyTo(`copy (${sql}) to stdout`));
  }

  /** For code that reads the catalogue with a client. */
  get session(): pg.Client {
    return this.client;
  }

  async close(): Promise<void> {
    await this.client.end();
  }
}
