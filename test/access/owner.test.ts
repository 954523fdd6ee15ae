import { randomUUID } from 'node:crypto';
import pg from 'pg';
import { loadConfig } from '../../src/common/config/config.js';
import { type Service, startService } from '../../src/service.js';
import { freshDatabase, type TestDatabase } from '../support/database.js';

// DATABASE_URL names a user who owns nothing, DATABASE_OWNER_URL the owner of the tables.

const user = `site_${randomUUID().slice(0, 8)}`;
let database: TestDatabase;
let owner: pg.Client;
let siteUrl: string;

beforeAll(async () => {
  database = await freshDatabase('template0'); // the start migrates it
  owner = new pg.Client({ connectionString: database.url });
  await owner.connect();
  await owner.query(`create role ${user} login password 'secret'`);
  siteUrl = Object.assign(new URL(database.url), { username: user, password: 'secret' }).href;
});

afterAll(async () => {
  await owner.query(`drop role ${user}`);
  await owner.end();
  await database.drop();
});

const start = (): Promise<Service> =>
  startService({
    ...loadConfig({ PORT: '0', LOG_LEVEL: 'silent' }),
    databaseUrl: siteUrl,
    databaseOwnerUrl: database.url,
  });

it('the service says what its user lacks', async () => {
  await expect(start()).rejects.toThrow(
    'may not work as drivebook_app: as the owner, run "grant drivebook_app to"',
  );
});

it('the service works as a user who owns nothing', async () => {
  await owner.query(`grant drivebook_app to ${user}`);
  const service = await start();
  try {
    const answer = await fetch(`${service.address}/v1/projects/P1`, {
      method: 'PUT',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' }),
    });
    expect(answer.status).toBe(200);
  } finally {
    await service.stop();
  }
  const site = new pg.Client({ connectionString: siteUrl });
  await site.connect();
  try {
    expect((await site.query('select * from project')).rows).toEqual([]); // no scope, no row
    await expect(site.query('select * from administrator')).rejects.toMatchObject({ code: '42501' });
  } finally {
    await site.end();
  }
  await owner.query(`revoke drivebook_app from ${user}`);
});
