import supertest from 'supertest';
import { createApp } from '../../src/app.js';
import { loadConfig } from '../../src/common/config/config.js';
import { startApp, type TestApp } from '../harness/app.js';

describe('the service', () => {
  let app: TestApp;

  beforeAll(async () => {
    app = await startApp();
  });

  afterAll(() => app.close());

  it('reports that it is well, and serves its description with a filter', async () => {
    expect((await app.http.get('/v1/health')).body).toEqual({ status: 'ok' });
    expect((await app.http.get('/v1/openapi.json')).body.openapi).toMatch(/^3\.1/);
    expect((await app.http.get('/docs')).text).toContain('swagger');
    expect((await app.http.get('/docs/swagger-ui-init.js')).text).toMatch(/"filter": true/);
  });
});

describe('the service without its database', () => {
  it('answers reads and writes as unavailable', async () => {
    const app = await createApp({
      ...loadConfig({}),
      databaseUrl: 'postgresql://nobody@127.0.0.1:1/none',
      logLevel: 'silent',
    });
    await app.init();
    await app.getHttpAdapter().getInstance().ready();
    const http = supertest(app.getHttpServer());
    const project = { name: 'X', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };
    const health = await http.get('/v1/health');
    expect([health.status, health.body.detail, health.headers['retry-after']]).toEqual([
      503,
      'The database does not answer.',
      expect.stringMatching(/^\d+$/),
    ]);
    const answers = [await http.get('/v1/projects'), await http.put('/v1/projects/P').send(project)];
    for (const { status, body } of answers)
      expect([status, body.detail]).toEqual([
        503,
        'The database cannot answer now; nothing was written. Try again.',
      ]);
    await app.close();
  });
});
