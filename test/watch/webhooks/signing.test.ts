import { createHmac } from 'node:crypto';
import { loadConfig } from '../../../src/common/config/config.js';
import { newSecret, secretOf, signedHeaders } from '../../../src/features/watch/webhooks/secrets.js';
import { retryAfterS } from '../../../src/features/watch/webhooks/webhook-sender.service.js';

const PEPPER = 'a pepper of the tests, and of nothing else';

describe('a signature', () => {
  it('is that of the published example', () => {
    // the test vector of the Standard Webhooks libraries ("sign function works")
    const secret = 'whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw';
    const at = new Date(1614265330 * 1000 + 999); // whole seconds are signed
    expect(signedHeaders([secret], 'msg_p5jXN8AQM9LWM0D4loKWxJek', at, '{"test": 2432232314}')).toEqual({
      'webhook-id': 'msg_p5jXN8AQM9LWM0D4loKWxJek',
      'webhook-timestamp': '1614265330',
      'webhook-signature': 'v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=',
    });
  });
});

describe('a secret', () => {
  it('is HKDF of pepper and salt, by the two steps of RFC 5869 written out', () => {
    const { text, kept } = newSecret(PEPPER);
    const extracted = createHmac('sha256', kept.salt).update(PEPPER).digest();
    const expanded = createHmac('sha256', extracted).update('drivebook webhook secret\x01').digest();
    expect(text).toBe(`whsec_${expanded.toString('base64')}`);
  });

  it('differs each time, and is derived again only with its pepper and salt', () => {
    const [one, two] = [newSecret(PEPPER), newSecret(PEPPER)];
    expect(one.text).not.toBe(two.text);
    expect(secretOf(PEPPER, one.kept)).toBe(one.text);
    expect(secretOf(`${PEPPER}.`, one.kept)).toBeUndefined();
    expect(secretOf(PEPPER, { ...one.kept, salt: two.kept.salt })).toBeUndefined();
    expect(one.text).not.toContain(one.kept.fingerprint);
  });
});

describe('the next attempt', () => {
  const { retryS } = loadConfig({}).webhooks;

  it('follows the example schedule of Standard Webhooks 1.0.0, at the times since the start that it lists', () => {
    const since = [
      '00:00:05',
      '00:05:05',
      '00:35:05',
      '02:35:05',
      '07:35:05',
      '17:35:05',
      '31:35:05',
      '51:35:05',
      '75:35:05',
    ];
    let total = 0;
    const found = since.map((_, index) => {
      total += retryAfterS(retryS, index + 1, 0, 0) ?? NaN;
      const parts = [Math.floor(total / 3600), Math.floor(total / 60) % 60, total % 60];
      return parts.map((part) => String(part).padStart(2, '0')).join(':');
    });
    expect(found).toEqual(since);
    expect(retryAfterS(retryS, 10, 600)).toBeUndefined(); // ten attempts in all
  });

  it('is later by a fifth at most, and never earlier', () => {
    expect([0, 1].map((random) => retryAfterS([100], 1, 0, random))).toEqual([100, 120]);
  });

  it('waits for as long as the endpoint asks, a day at most', () => {
    expect(retryAfterS([5], 1, 600, 0)).toBe(600);
    expect(retryAfterS([7200], 1, 600, 0)).toBe(7200);
    expect(retryAfterS([5], 1, 10_000_000, 0)).toBe(86_400);
  });
});
