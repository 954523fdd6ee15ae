import { spawn } from 'node:child_process';
import { once } from 'node:events';
import {
  chownSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { ApiKeyHash, apiKeyPepper, mintApiKey, readApiKey } from '../../src/common/auth/api-keys.js';
import { packageRoot } from '../../src/common/package-root.js';

describe('an API key', () => {
  it('is made of a prefix to name it and 256 random bits to prove it', () => {
    const { prefix, secret, text } = mintApiKey();
    expect(prefix).toMatch(/^[a-z2-7]{10}$/);
    expect(Buffer.from(secret, 'base64url')).toHaveLength(32);
    expect(text).toBe(`dbk_${prefix}_${secret}`);
  });

  it('is never made twice, and uses every letter', () => {
    const keys = Array.from({ length: 1000 }, mintApiKey);
    expect(new Set(keys.map(({ prefix }) => prefix)).size).toBe(1000);
    expect(new Set(keys.map(({ secret }) => secret)).size).toBe(1000);
    // 10,000 letters out of 32: the probability that one never occurs is 32 (31/32)^10000, below 1e-136.
    expect(new Set(keys.flatMap(({ prefix }) => [...prefix])).size).toBe(32);
  });

  it('is read back as it was made', () => {
    for (const { prefix, secret, text } of Array.from({ length: 100 }, mintApiKey))
      expect(readApiKey(text)).toEqual({ prefix, secret });
  });

  const prefix = 'abcdefg234';
  const secret = 'A-_z'.repeat(10) + 'abc';

  it.each([
    '',
    'dbk_',
    `${prefix}_${secret}`,
    `DBK_${prefix}_${secret}`,
    `xdbk_${prefix}_${secret}`,
    ` dbk_${prefix}_${secret}`,
    `dbk_${prefix}_${secret}\n`,
    `dbk_${prefix}_${secret}=`,
    `dbk_${prefix}_${secret}a`,
    `dbk_${prefix}_${secret.slice(1)}`,
    `dbk_${prefix}_${secret.slice(1)}+`,
    `dbk_${prefix}${secret}`,
    `dbk_${prefix.toUpperCase()}_${secret}`,
    `dbk_${prefix}a_${secret}`,
    `dbk_${prefix.slice(1)}_${secret}`,
    `dbk_abcdefg231_${secret}`,
    `dbk__${secret}`,
    'eyJhbGciOiJSUzI1NiJ9.e30.AAAA',
  ])('cannot be read from %j', (text) => {
    expect(readApiKey(`dbk_${prefix}_${secret}`)).toEqual({ prefix, secret });
    expect(readApiKey(text)).toBeUndefined();
  });
});

describe('the hash of an API key', () => {
  // RFC 4231, test case 2
  it('is HMAC-SHA-256', () => {
    expect(new ApiKeyHash('Jefe').of('what do ya want for nothing?').toString('hex')).toBe(
      '5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843',
    );
  });

  it('is matched by its secret, under its pepper, and by nothing else', () => {
    const hash = new ApiKeyHash('p'.repeat(32));
    const { secret } = mintApiKey();
    const kept = hash.of(secret);
    expect(hash.matches(secret, kept)).toBe(true);
    expect(hash.matches(secret, new Uint8Array(kept))).toBe(true);
    expect(hash.matches(mintApiKey().secret, kept)).toBe(false);
    expect(hash.matches('', kept)).toBe(false);
    expect(new ApiKeyHash('q'.repeat(32)).matches(secret, kept)).toBe(false);
  });

  it('is not matched when any byte differs, is missing or is added', () => {
    const hash = new ApiKeyHash('p'.repeat(32));
    const kept = hash.of('secret');
    for (const at of kept.keys()) {
      const changed = Buffer.from(kept);
      changed.writeUInt8(changed.readUInt8(at) ^ 1, at);
      expect(hash.matches('secret', changed)).toBe(false);
    }
    expect(hash.matches('secret', kept.subarray(0, 31))).toBe(false);
    expect(hash.matches('secret', new Uint8Array())).toBe(false);
    expect(hash.matches('secret', Buffer.concat([kept, Buffer.alloc(1)]))).toBe(false);
  });
});

describe('the pepper', () => {
  let dataDir: string;
  let file: string;

  beforeEach(() => {
    dataDir = mkdtempSync(path.join(tmpdir(), 'drivebook-pepper-'));
    file = path.join(dataDir, 'api-key-pepper');
  });

  afterEach(() => rmSync(dataDir, { recursive: true }));

  const embedded = (): string | undefined =>
    apiKeyPepper({ apiKeyPepper: undefined, databaseUrl: undefined, dataDir });

  it('is the configured one, and then none is stored', () => {
    const set = { apiKeyPepper: 's'.repeat(32), dataDir };
    expect(apiKeyPepper({ ...set, databaseUrl: undefined })).toBe(set.apiKeyPepper);
    expect(apiKeyPepper({ ...set, databaseUrl: 'postgres://db/drive' })).toBe(set.apiKeyPepper);
    expect(existsSync(file)).toBe(false);
  });

  it('is not generated for an external database', () => {
    const config = { apiKeyPepper: undefined, databaseUrl: 'postgres://db/drive', dataDir };
    expect(apiKeyPepper(config)).toBeUndefined();
    expect(existsSync(file)).toBe(false);
  });

  it('is generated once for the embedded database, at random, readable only by its owner', () => {
    if (process.getuid?.() === 0) chownSync(dataDir, 65534, 65534); // a start by root must not lock that user out
    const pepper = embedded();
    expect(Buffer.from(pepper ?? '', 'base64url')).toHaveLength(32);
    expect(embedded()).toBe(pepper);
    const { mode, uid, gid } = statSync(file);
    expect([mode & 0o777, uid, gid]).toEqual([0o600, statSync(dataDir).uid, statSync(dataDir).gid]);
    expect(readdirSync(dataDir)).toEqual(['api-key-pepper']);
    rmSync(file);
    expect(embedded()).not.toBe(pepper);
  });

  it.each(['', 'short\n', `${'x'.repeat(42)}\n`, `${'x'.repeat(43)}\n${'x'.repeat(43)}\n`])(
    'is neither read from a damaged file nor replaced: %j',
    (text) => {
      writeFileSync(file, text);
      expect(embedded).toThrow(
        `${file}, which holds the pepper of the API keys, is damaged: put it back from a backup.`,
      );
    },
  );

  it('that cannot be read is reported as such', () => {
    mkdirSync(file);
    expect(embedded).toThrow(`${file}, which holds the pepper of the API keys, cannot be read (EISDIR).`);
  });

  it('is the same for processes that start at once', async () => {
    const url = (...parts: string[]): string => pathToFileURL(path.join(packageRoot, ...parts)).href;
    const script = `
      const { apiKeyPepper } = await import('${url('src', 'common', 'auth', 'api-keys.ts')}');
      process.once('message', (dataDir) => process.send(apiKeyPepper({ dataDir }), () => process.disconnect()));
      process.send('ready');`;
    const args = ['--import', url('prisma', 'tools', 'typescript.mjs'), '--input-type=module', '-e', script];
    const starters = Array.from({ length: 4 }, () =>
      spawn(process.execPath, args, { stdio: ['ignore', 'ignore', 'inherit', 'ipc'] }),
    );
    await Promise.all(starters.map((starter) => once(starter, 'message')));
    const peppers = starters.map(async (starter) => {
      const said = once(starter, 'message');
      starter.send(dataDir);
      return String((await said)[0]);
    });
    expect(new Set(await Promise.all(peppers))).toEqual(new Set([embedded()]));
    await Promise.all(starters.map((starter) => starter.exitCode ?? once(starter, 'exit')));
  });
});
