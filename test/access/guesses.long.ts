import { randomBytes } from 'node:crypto';
import { jest } from '@jest/globals';
import { mintApiKey } from '../../src/common/auth/api-keys.js';
import { hearStatements } from '../harness/sent.js';
import { OWNER, type Site, startSite } from './site.js';

let site: Site;
/** Statements sent to the database. */
let sent: string[];
/** The minute in which wrong credentials are counted is never over by itself. */
let now = Date.now();

const LIMIT = 30;

beforeAll(async () => {
  site = await startSite({ AUTH_FAILURES_PER_MINUTE: String(LIMIT) });
  await site.project('MINE');
  sent = hearStatements();
});

beforeEach(() => {
  now += 61_000;
  jest.spyOn(Date, 'now').mockImplementation(() => now);
});

afterAll(async () => {
  jest.restoreAllMocks();
  await site.close();
});

const statusOf = async (credential: string): Promise<number> =>
  (await site.bearing(credential).get('/v1/projects')).status;

/** Number of answers by status, sent ten at a time. */
const answers = async (credentials: string[]): Promise<Record<number, number>> => {
  const found: Record<number, number> = {};
  for (let i = 0; i < credentials.length; i += 10)
    for (const status of await Promise.all(credentials.slice(i, i + 10).map(statusOf)))
      found[status] = (found[status] ?? 0) + 1;
  return found;
};

const many = (count: number, make: () => string): string[] => Array.from({ length: count }, make);

/** A well-formed key that does not exist. */
const aGuess = (): string => mintApiKey().text;

/** A key as the administrator hands it out. */
const aKey = async (name: string): Promise<string> => {
  const owner = await site.as(OWNER);
  const made = await owner.post('/v1/projects/MINE/api-keys', { name, scopes: ['record.read'] });
  return (made.body as { key: string }).key;
};

/** A token signed with another key. */
const aForgery = (token: string): string => token.replace(/[^.]+$/, randomBytes(256).toString('base64url'));

describe('wrong credentials from one address', () => {
  it('do not shut out a good one from there that was not seen before', async () => {
    const key = await aKey('new');
    const token = await site.token(OWNER);
    expect(await answers(many(LIMIT + 5, aGuess))).toEqual({ 401: LIMIT, 429: 5 });
    expect(await statusOf(await site.token('newcomer'))).toBe(200);
    expect(await statusOf(key)).toBe(200);
    expect(await statusOf(aForgery(token))).toBe(429);
    expect(await statusOf(token)).toBe(200);
  });

  it('cost no statement when they cannot be keys, and together one in two seconds when they could', async () => {
    await answers(many(LIMIT, () => 'nonsense'));
    const token = await site.token(OWNER);
    sent.length = 0;
    const malformed = many(100, () => `dbk_${randomBytes(9).toString('hex')}`);
    const forged = many(100, () => aForgery(token));
    expect(await answers([...malformed, ...forged])).toEqual({ 429: 200 });
    expect(sent).toEqual([]);

    const since = performance.now();
    expect(await answers(many(500, aGuess))).toEqual({ 429: 500 });
    expect(sent.length).toBeLessThanOrEqual(1 + Math.ceil((performance.now() - since) / 2000));
  });

  it('with the prefix of a live key cost one lookup in two seconds, and do not mark the key as used', async () => {
    const key = await aKey('known');
    const prefix = key.split('_')[1] ?? '';
    await answers(many(LIMIT, () => 'nonsense'));
    await new Promise((resolve) => setTimeout(resolve, 2100)); // the prefixes are cached for two seconds
    sent.length = 0;
    const since = performance.now();
    const guesses = many(200, () => `dbk_${prefix}_${randomBytes(32).toString('base64url')}`);
    expect(await answers(guesses)).toEqual({ 429: 200 });
    expect(sent.length).toBeLessThanOrEqual(2 + 2 * Math.ceil((performance.now() - since) / 2000));
    expect(await site.sql('select from api_key_use where prefix = $1', [prefix])).toEqual([]);
    expect(await statusOf(key)).toBe(200);
    expect(await site.sql('select from api_key_use where prefix = $1', [prefix])).toHaveLength(1);
  });
});

it('lookups of keys are limited even before a guess was counted', async () => {
  // Guesses from many addresses would each be a first attempt: here one address stays within its limit, all at once.
  const fresh = await startSite({ AUTH_FAILURES_PER_MINUTE: '1000' });
  try {
    sent.length = 0;
    const statuses = await Promise.all(
      many(40, aGuess).map(async (guess) => (await fresh.bearing(guess).get('/v1/projects')).status),
    );
    expect(new Set(statuses)).toEqual(new Set([401]));
    expect(sent.length).toBeLessThan(40);
  } finally {
    await fresh.close();
  }
});
