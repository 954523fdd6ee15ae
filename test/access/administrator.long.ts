import { chmodSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { loadConfig } from '../../src/common/config/config.js';
import { type Service, startService } from '../../src/service.js';
import { captured } from '../harness/captured-command.js';

const PROJECT = { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };

const run = (...args: string[]): ReturnType<typeof captured> => captured('administrator', ...args);

describe('keys of administrators on the embedded database', () => {
  let dataDir: string;
  let service: Service | undefined;

  beforeEach(() => {
    dataDir = mkdtempSync(path.join(tmpdir(), 'drivebook-administrator-'));
    chmodSync(dataDir, 0o755);
    process.env.DATA_DIR = dataDir;
    delete process.env.DATABASE_URL;
    delete process.env.API_KEY_PEPPER;
  });

  afterEach(async () => {
    await service?.stop();
    rmSync(dataDir, { recursive: true });
  });

  it('are made under the pepper kept there, before the service starts and while it runs', async () => {
    const [key = ''] = (await run('key', 'first')).out.split('\n');
    expect(existsSync(path.join(dataDir, 'api-key-pepper'))).toBe(true);
    service = await startService({
      ...loadConfig({ DATA_DIR: dataDir, AUTH: 'required', PORT: '0' }),
      logLevel: 'silent',
    });
    const put = await fetch(`${service.address}/v1/projects/P1`, {
      method: 'PUT',
      headers: { authorization: `Bearer ${key}`, 'content-type': 'application/json' },
      body: JSON.stringify(PROJECT),
    });
    expect(put.status).toBe(201);
    const made = await run('key', 'second');
    expect(made).toMatchObject({ status: 0, err: '' });
    expect(made.database).toMatch(/^the embedded one in .*, of the running service$/);
    const [second] = made.out.split('\n');
    const list = await fetch(`${service.address}/v1/projects`, {
      headers: { authorization: `Bearer ${second}` },
    });
    expect([list.status, await list.json()]).toEqual([200, [expect.objectContaining({ code: 'P1' })]]);
  });
});
