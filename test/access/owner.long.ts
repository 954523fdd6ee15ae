import { randomUUID } from 'node:crypto';
import pg from 'pg';
import { loadConfig } from '../../src/common/config/config.js';
import { type Service, startService } from '../../src/service.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

// DATABASE_OWNER_URL names an owner who may not create roles, DATABASE_URL a login that does not exist yet.

const [ownerName, siteName] = ['owner', 'site'].map((role) => `${role}_${randomUUID().slice(0, 8)}`);
let database: TestDatabase;
let superuser: pg.Client;
let ownerUrl: string;
let siteUrl: string;

const of = (username: string | undefined, password: string): string =>
  Object.assign(new URL(database.url), { username, password }).href;

beforeAll(async () => {
  database = await freshDatabase('template0'); // migrated at start-up
  superuser = new pg.Client({ connectionString: database.url });
  await superuser.connect();
  await superuser.query(`create role ${ownerName} login nocreaterole password 'owns'`);
  [ownerUrl, siteUrl] = [of(ownerName, 'owns'), of(siteName, 's3cret')];
});

afterAll(async () => {
  await superuser.query(`drop owned by ${ownerName} cascade`);
  await superuser.query(`drop role ${ownerName}; drop role ${siteName}`);
  await superuser.end();
  await database.drop();
});

const start = (): Promise<Service> =>
  startService({
    ...loadConfig({ PORT: '0', LOG_LEVEL: 'silent' }),
    databaseUrl: siteUrl,
    databaseOwnerUrl: ownerUrl,
  });

it('the start asks for everything missing at once, in SQL that can be run, without a password', async () => {
  const message = await start().then(
    () => '',
    (error: unknown) => (error as Error).message,
  );
  const name = new URL(database.url).pathname.slice(1);
  expect(message).toContain(`As a superuser, run in ${name}:`);
  expect(message).not.toContain('s3cret');
  const asked = message.split('\n').filter((line) => line.endsWith(';'));
  expect(asked.map((line) => line.trim().replace(/"/g, ''))).toEqual([
    `grant create on database ${name} to ${ownerName};`,
    `grant usage, create on schema public to ${ownerName};`,
    `create role ${siteName} login noinherit nosuperuser nobypassrls nocreatedb nocreaterole password '…the password of DATABASE_URL…';`,
    `grant drivebook_app to ${siteName};`,
  ]);
  await superuser.query(asked.join('\n').replace('…the password of DATABASE_URL…', 's3cret'));
});

it('then an owner without privileges migrates, and the service works as a login that owns nothing', async () => {
  const service = await start();
  try {
    const answer = await fetch(`${service.address}/v1/projects/P1`, {
      method: 'PUT',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' }),
    });
    expect(answer.status).toBe(201);
    expect(service.database.isConfined).toBe(true);
  } finally {
    await service.stop();
  }
  const site = new pg.Client({ connectionString: siteUrl, options: '-c role=drivebook_app' });
  await site.connect();
  try {
    expect((await site.query('select * from project')).rows).toEqual([]); // without a scope, no rows
    await expect(site.query('select * from administrator')).rejects.toMatchObject({ code: '42501' });
  } finally {
    await site.end();
  }
});
