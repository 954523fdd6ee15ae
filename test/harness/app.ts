import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { mkdtempSync } from 'node:fs';
import type { Server } from 'node:http';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import type supertest from 'supertest';
import { createApp } from '../../src/app.js';
import { loadConfig } from '../../src/common/config/config.js';
import { freshDatabase } from './database.js';
import { keptAlive } from './kept-alive.js';
import { oneAtATime } from './schema-once.js';
import { type Service, SharedServices } from './shared-service.js';

export interface TestApp {
  app: NestFastifyApplication;
  url: string;
  /** Sends a request to the REST API. */
  http: ReturnType<typeof supertest.agent>;
  /** Rows of a query, bypassing the service. */
  sql<T extends pg.QueryResultRow>(text: string, parameters?: unknown[]): Promise<T[]>;
  /** A digest of every row of every table: equal if nothing was written. */
  contents(): Promise<string>;
  close(): Promise<void>;
}

const TABLES = [
  'project',
  'calendar_shift',
  'site_closure',
  'working_zone',
  'acceptance_rule',
  'doubt_limit',
  'doubt_limit_item',
  'notice_rule',
  'contract_notice',
  'activity_code',
  'equipment',
  'ground_class',
  'support_item',
  'machine',
  'machine_revision',
  'drive',
  'shift',
  'boring',
  'activity',
  'ground_interval',
  'support_installed',
  'shift_confirmation',
  'probe_hole',
  'inflow_measurement',
  'water_limit',
  'hold_point',
  'hold_point_release',
  'alert_rule',
  'alert',
  'probe_log',
  'probe_requirement',
  'lugeon_test',
  'lugeon_step',
  'grout_round',
  'grout_hole',
  'grout_mix',
  'machine_sample',
  'stroke_proposal',
  'programme_point',
  'standard_support',
  'standard_support_item',
  'design_section',
  'design_section_item',
  'drive_support_limit',
  'class_decision',
  'baseline',
  'baseline_interval',
  'entitlement',
  'entitlement_item',
  'discontinuity',
  'overbreak_item',
  'investigation',
  'indication',
  'encounter',
  'bill',
  'pay_item',
  'measurement_rule',
  'lump_progress',
  'quantity_dispute',
  'valuation',
  'certified_line',
  'certified_source',
  'ground_log_sheet',
  'attached_file',
  'webhook_endpoint',
  'webhook_secret',
  'outgoing_message',
  'webhook_delivery',
  'job',
];

const CONTENTS = `select md5(string_agg(d, ',' order by d)) as digest from (${TABLES.map(
  (table) =>
    `select '${table}' || md5(coalesce(string_agg(t::text, ',' order by t::text), '')) as d from ${table} t`,
).join(' union all ')}) x`;

/** For the tests only. */
export const PEPPER = 'a pepper of the tests, and of nothing else';

/** The service on its own database. */
export async function startService(
  settings: NodeJS.ProcessEnv = {},
  through: (url: string) => Promise<string> = (url) => Promise.resolve(url),
): Promise<Service> {
  const database = await freshDatabase();
  const config = {
    // Tests send many requests from one address.
    ...loadConfig({
      RATE_LIMIT_PER_MINUTE: '0',
      AUTH_FAILURES_PER_MINUTE: '0',
      DATABASE_POOL_SIZE: '4',
      // A loaded machine must not make tests fail.
      DATABASE_STATEMENT_TIMEOUT_MS: '600000',
      DATABASE_LOCK_TIMEOUT_MS: '600000',
      DATABASE_LIGHT_TIMEOUT_MS: '600000',
      DATABASE_AS_OF_TIMEOUT_MS: '600000',
      DATABASE_QUEUE_TIMEOUT_MS: '600000',
      BODY_IDLE_TIMEOUT_MS: '600000',
      JUDGEMENT_KEPT_FROM_MS: '600000', // background work has its own tests
      WEBHOOK_SENDING: 'off',
      JOBS: 'off',
      API_KEY_PEPPER: PEPPER,
      ATTACHMENTS_DIR: mkdtempSync(path.join(tmpdir(), 'attachments-')),
      ALERT_INTERVAL_S: '0',
      ...settings,
    }),
    databaseUrl: await through(database.url),
    logLevel: 'silent' as const,
  };
  const app = await oneAtATime(async () => {
    const made = await createApp(config);
    await made.listen(0, '127.0.0.1'); // once per file: supertest would open and close a port for each request
    return made;
  });
  return {
    app,
    database,
    close: async () => {
      await app.close();
      await database.drop();
      letGo(app);
    },
  };
}

/** Node never frees the variables of a test file, so a service that has ended is emptied: each held 20 MB. */
const letGo = (app: NestFastifyApplication): void => {
  (app.getHttpServer() as Server).removeAllListeners();
  for (const held of [app.getHttpAdapter(), app])
    for (const name of Object.keys(held)) Reflect.deleteProperty(held, name);
};

const shared = new SharedServices(() => startService());

/**
 * The service on an empty database; settings as environment variables. Without settings, files share one service.
 * @param through  returns the address by which the service reaches its database, for instance through a proxy
 */
export const startApp = async (
  settings?: NodeJS.ProcessEnv,
  through?: (url: string) => Promise<string>,
): Promise<TestApp> => appOf(await (settings || through ? startService(settings, through) : shared.take()));

/** The tools of a test file. */
export const appOf = ({ app, database, close }: Service): TestApp => {
  const pool = new pg.Pool({ connectionString: database.url, max: 2 });
  pool.on('error', () => undefined); // an idle connection may end with its database
  const sql = async <T extends pg.QueryResultRow>(text: string, parameters: unknown[] = []): Promise<T[]> =>
    (await pool.query<T>(text, parameters)).rows;
  return {
    app,
    url: database.url,
    // a compressed answer has another entity tag
    http: keptAlive(app.getHttpServer()).set('accept-encoding', 'identity'),
    sql,
    // named, so that PostgreSQL plans it once per connection
    contents: async () =>
      (await pool.query<{ digest: string }>({ name: 'contents', text: CONTENTS })).rows[0]?.digest ?? '',
    close: async () => {
      await pool.end();
      await close();
    },
  };
};
