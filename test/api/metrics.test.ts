import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { type AddressInfo, connect } from 'node:net';
import path from 'node:path';
import pg from 'pg';
import { loadConfig } from '../../src/common/config/config.js';
import { packageRoot } from '../../src/common/package-root.js';
import { type Service, startService } from '../../src/service.js';
import { wholeRecord } from '../builders/whole-record.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import '../harness/schema-once.js';

let database: TestDatabase;
/** For tests without settings of their own: counts begin with the file. */
let service: Service;
const services: Service[] = [];

const start = async (settings: NodeJS.ProcessEnv): Promise<Service> => {
  const config = loadConfig({ DATABASE_URL: database.url, PORT: '0', LOG_LEVEL: 'silent', ...settings });
  const started = await startService(config);
  services.push(started);
  return started;
};

beforeAll(async () => {
  database = await freshDatabase();
  service = await start({ METRICS_PORT: '0' });
});

afterAll(async () => {
  for (const each of services.splice(0)) await each.stop();
  await database.drop();
});

const scrape = async ({ metrics = '' }: Service): Promise<string[]> =>
  (await (await fetch(metrics)).text()).split('\n');

const ask = async ({ address }: Service, url: string, init?: RequestInit): Promise<number> => {
  const response = await fetch(address + url, init);
  await response.arrayBuffer();
  return response.status;
};

const query = (service: Service, text: string): Promise<number> =>
  ask(service, '/graphql', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({ query: text }),
  });

describe('the metrics', () => {
  it('give time and number of answers by route, and nothing else about the requests', async () => {
    await ask(service, '/v1/projects');
    await ask(service, '/v1/projects/SECRET-SITE', { headers: { authorization: 'Bearer s3cret' } });
    await ask(service, '/v1/projects/SECRET-SITE');
    await ask(service, '/SECRET-SITE?token=s3cret');
    const lines = await scrape(service);
    expect(lines.filter((line) => line.startsWith('http_request_duration_seconds_count')).sort()).toEqual([
      'http_request_duration_seconds_count{method="GET",route="/v1/projects",status="200"} 1',
      'http_request_duration_seconds_count{method="GET",route="/v1/projects/:project",status="401"} 1',
      'http_request_duration_seconds_count{method="GET",route="/v1/projects/:project",status="404"} 1',
      'http_request_duration_seconds_count{method="GET",route="none",status="404"} 1',
    ]);
    expect(lines.join('\n')).not.toMatch(/SECRET|s3cret/);
  });

  it('report how many GraphQL operations were answered, in full or in part', async () => {
    for (let i = 0; i < 2; i += 1) expect(await query(service, '{ projects { code } }')).toBe(200);
    expect(await query(service, '{ projects { code } project(project: "NOPE") { name } }')).toBe(200);
    expect(await query(service, '{ nothing }')).toBe(200); // refused before it runs
    const lines = await scrape(service);
    expect(lines.filter((line) => line.startsWith('graphql_operations_total')).sort()).toEqual([
      'graphql_operations_total{outcome="answered"} 2',
      'graphql_operations_total{outcome="errors"} 1',
    ]);
  });

  it('report the version that runs, and the state of the process', async () => {
    const { version } = JSON.parse(readFileSync(path.join(packageRoot, 'package.json'), 'utf8')) as {
      version: string;
    };
    const lines = await scrape(service);
    expect(lines).toContain(`drivebook_build_info{version="${version}",node="${process.version}"} 1`);
    expect(lines).toEqual(
      expect.arrayContaining([expect.stringMatching(/^process_resident_memory_bytes \d/)]),
    );
  });

  it('belong to one service each', async () => {
    const other = await start({ METRICS_PORT: '0' });
    await ask(service, '/v1/projects');
    expect((await scrape(service)).join()).toContain('route="/v1/projects"');
    expect((await scrape(other)).join()).not.toContain('route=');
  });

  it('are read at /metrics of their own port, by GET, and nowhere else', async () => {
    const metrics = service.metrics ?? '';
    expect(metrics).toMatch(/^http:\/\/127\.0\.0\.1:\d+\/metrics$/);
    const { status, headers } = await fetch(metrics);
    expect([status, headers.get('content-type')]).toEqual([200, 'text/plain; version=0.0.4; charset=utf-8']);
    const posted = await fetch(metrics, { method: 'POST' });
    expect([posted.status, posted.headers.get('allow')]).toEqual([405, 'GET']);
    for (const url of ['/', '/metrics/', '/v1/projects'])
      expect((await fetch(new URL(url, metrics))).status).toBe(404);
    expect(await ask(service, '/metrics')).toBe(404);
  });

  const sum = (lines: string[], start: string): number =>
    lines
      .filter((line) => line.startsWith(start))
      .reduce((total, line) => total + Number(line.split(' ').at(-1)), 0);

  it('report the use of the database, and the state of the record', async () => {
    // figures of the record are cached for a while, so use a service that was not asked before
    const fresh = await start({ METRICS_PORT: '0', DATABASE_POOL_SIZE: '4' });
    const json = { 'content-type': 'application/json' };
    const put = (path: string, body: object): Promise<number> =>
      ask(fresh, path, { method: 'PUT', headers: json, body: JSON.stringify(body) });
    expect(
      await put('/v1/projects/P1', { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' }),
    ).toBe(201);
    const drive = {
      name: 'N',
      startChainage: '0+000',
      endChainage: '1+000',
      direction: 1,
      boredDiameterM: '7',
    };
    expect(await put('/v1/projects/P1/drives/N', drive)).toBe(201);
    expect(await put('/v1/projects/P1/drives/N', { ...drive, machine: 'NONE' })).toBeGreaterThanOrEqual(400);
    const lines = await scrape(fresh);
    expect(sum(lines, 'drivebook_pool_connections{state="idle"}')).toBeGreaterThan(0);
    expect(lines).toContain('drivebook_pool_connections{state="waiting"} 0');
    expect(lines).toContain('drivebook_admission_requests{class="heavy",state="running"} 0');
    expect(lines).toContain('drivebook_admission_refused_total{class="light"} 0');
    expect(lines).toContain('drivebook_subscriptions 0');
    expect(lines).toContain('drivebook_change_feed_connected 0');
    expect(lines).toContain('drivebook_samples_total{outcome="taken"} 0');
    expect(lines).toContain('drivebook_open_items{project="P1",drive="N"} 0');
    expect(lines).toContain('drivebook_attachment_bytes{project="P1"} 0');
    expect(lines).toContain('drivebook_webhook_dead_deliveries{project="P1"} 0');
    expect(sum(lines, 'drivebook_history_changes{project="P1"}')).toBe(2); // the project and the drive
    expect(lines.join()).not.toContain('drivebook_last_shift_age_seconds{'); // there is none yet
  });

  it('count the messages to webhooks that were given up, by project', async () => {
    const owner = new pg.Client({ connectionString: database.url });
    await owner.connect();
    await owner.query(wholeRecord(5, 'GIVEN')); // one message is dead
    await owner.query(`insert into outgoing_message (id, project_id, type, body) select n, 5, 'alert.raised', '{}' from generate_series(1, 3) n;
      insert into webhook_delivery (project_id, endpoint_id, message_id, state, next_at)
        values (5, 500, 1, 'dead', null), (5, 500, 2, 'delivered', null), (5, 500, 3, 'pending', now())`);
    await owner.end();
    const fresh = await start({ METRICS_PORT: '0' });
    expect(await scrape(fresh)).toContain('drivebook_webhook_dead_deliveries{project="GIVEN"} 2');
  });

  it('include all that the dashboard and the alarm rules name', async () => {
    const known = new Set(
      (await scrape(service)).filter((line) => line.startsWith('# TYPE ')).map((line) => line.split(' ')[2]),
    );
    const folder = path.join(packageRoot, 'docs', 'operations');
    const { panels } = JSON.parse(readFileSync(path.join(folder, 'dashboard.json'), 'utf8')) as {
      panels: { targets: { expr: string }[] }[];
    };
    const alarms = [...readFileSync(path.join(folder, 'alarms.yml'), 'utf8').matchAll(/expr: >-\n +(.+)/g)];
    const expressions = [
      ...panels.flatMap(({ targets }) => targets.map(({ expr }) => expr)),
      ...alarms.map(([, expression = '']) => expression),
    ];
    const named = (expression: string): string[] =>
      expression.match(/\b(drivebook|event_loop|http|graphql|nodejs|process)_\w+/g) ?? [];
    expect(expressions.length).toBeGreaterThan(25);
    expect(expressions.filter((expression) => named(expression).length === 0)).toEqual([
      'up{job="drivebook"} == 0', // added by Prometheus
    ]);
    const unknown = expressions
      .flatMap(named)
      .filter((name) => !known.has(name) && !known.has(name.replace(/_(count|sum|bucket)$/, '')));
    expect(unknown).toEqual([]);
  });

  it('are not served unless a port is named', async () => {
    expect((await start({})).metrics).toBeUndefined();
  });

  it('fail with a message when their port is in use, before anything is started', async () => {
    const other = createServer();
    await new Promise<void>((resolve) => other.listen(0, '127.0.0.1', resolve));
    const { port } = other.address() as AddressInfo;
    await expect(start({ METRICS_PORT: String(port) })).rejects.toThrow(
      `Port ${port} of 127.0.0.1 is taken: stop the program that listens there, or name another port by METRICS_PORT.`,
    );
    other.close();
  });

  it('end with the service, even with open connections', async () => {
    const metrics = new URL(service.metrics ?? '');
    const silent = connect(Number(metrics.port), metrics.hostname);
    const ended = once(silent, 'close');
    await once(silent, 'connect');
    await service.stop();
    services.splice(services.indexOf(service), 1);
    await ended;
    await expect(fetch(metrics)).rejects.toThrow();
  });
});
