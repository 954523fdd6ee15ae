import { ProblemError } from '../../src/common/api/problem.js';
import { isLoopback, isPrivateUrl, refuseForeign } from '../../src/common/auth/loopback.js';

const OFFICE = 'https://office.example';

const refusal = (host: string | undefined, origin?: string): [string, string] => {
  try {
    refuseForeign({ host, origin }, [OFFICE]);
  } catch (error) {
    if (error instanceof ProblemError) return [error.code, error.message];
    throw error;
  }
  throw new Error('The request was taken.');
};

const FOREIGN_HOST = [
  'forbidden',
  'Without a login the service answers only as localhost, 127.0.0.1 or [::1]: use one of these as its host.',
];
const FOREIGN_ORIGIN = [
  'forbidden',
  'Without a login the service serves only pages of this machine and of the origins in CORS_ORIGINS.',
];

describe('without a login', () => {
  it.each(['localhost', 'LocalHost:3000', '127.0.0.1', '127.0.0.1:65535', '[::1]', '[::1]:3000'])(
    'the service answers as %s',
    (host) => {
      expect(() => refuseForeign({ host }, [])).not.toThrow();
    },
  );

  // DNS rebinding: the attacker's name resolves to 127.0.0.1, and his page is then of the "same" origin.
  it.each([
    'attacker.example',
    'attacker.example:3000',
    'localhost.attacker.example',
    '127.0.0.1.attacker.example:3000',
    'attacker-localhost',
    'localhost:3000.attacker.example',
    'attacker.example/localhost',
    'x@localhost',
    'localhost, attacker.example',
    'localhost\n',
    'localhost:',
    'localhost:123456',
    'localhost.',
    '127.0.0.1x',
    '127a0b0c1',
    '0.0.0.0:3000',
    '192.168.1.7',
    '::1',
    '[::2]',
    '[::1',
    '',
    undefined,
  ])('it does not answer as %j', (host) => {
    expect(refusal(host)).toEqual(FOREIGN_HOST);
    expect(refusal(host, OFFICE)).toEqual(FOREIGN_HOST);
  });

  it.each([
    undefined,
    'http://localhost:8080',
    'https://127.0.0.1',
    'http://[::1]:3000',
    'HTTP://LOCALHOST',
    OFFICE,
  ])('it serves pages of %s', (origin) => {
    expect(() => refuseForeign({ host: 'localhost:3000', origin }, [OFFICE])).not.toThrow();
  });

  // `null`: sandboxed frames and files (RFC 6454 section 7)
  it.each([
    'https://attacker.example',
    'null',
    '',
    'http://localhost.attacker.example',
    'http://attacker.example#http://localhost',
    'http://localhost@attacker.example',
    'http://localhost/',
    'ftp://localhost',
    'chrome-extension://localhost',
    'http://127a0b0c1',
    `${OFFICE}:8443`,
    `${OFFICE}.attacker.example`,
    'http://office.example',
    'office.example',
    `http://localhost, ${OFFICE}`,
  ])('it does not serve pages of %j', (origin) => {
    expect(refusal('localhost:3000', origin)).toEqual(FOREIGN_ORIGIN);
  });
});

describe('a host', () => {
  it.each(['localhost', 'LOCALHOST', '127.0.0.1', '::1', '[::1]'])('%s is this machine', (host) => {
    expect(isLoopback(host)).toBe(true);
  });

  it.each(['0.0.0.0', '::', '', '10.0.0.1', 'localhost.example', '127.0.0.1.example', '127.0.0.2', '1'])(
    '%j is not taken for this machine',
    (host) => {
      expect(isLoopback(host)).toBe(false);
    },
  );

  it.each([
    ['https://issuer.example', true],
    ['http://127.0.0.1:8080', true],
    ['http://[::1]', true],
    ['http://localhost/realms', true],
    ['http://issuer.example', false],
    ['http://localhost.example', false],
    ['http://localhost@issuer.example', false],
    ['ws://localhost', false],
    ['file://localhost/etc', false],
  ])('an address %s is private: %s', (url, isPrivate) => {
    expect(isPrivateUrl(new URL(url))).toBe(isPrivate);
  });
});
