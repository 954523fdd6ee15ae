import { jest } from '@jest/globals';
import { exportJWK, exportSPKI, type JWTPayload } from 'jose';
import { ProblemError } from '../../src/common/api/problem.js';
import { AccessTokens } from '../../src/common/auth/access-tokens.js';
import { loadConfig } from '../../src/common/config/config.js';
import { type Issuer, newKey, serve, startIssuer, type TokenOptions } from '../harness/issuer.js';

let issuer: Issuer;
let tokens: AccessTokens;

/** Configured as by the environment, with the default algorithms. */
const tokensOf = (OIDC_ISSUER: string): AccessTokens => {
  const { oidc } = loadConfig({ OIDC_ISSUER, OIDC_AUDIENCE: issuer.audience });
  if (!oidc) throw new Error('no issuer');
  return new AccessTokens(oidc);
};

const pass = (seconds: number): void => void jest.setSystemTime(Date.now() + seconds * 1000);
const now = (): number => Math.floor(Date.now() / 1000);
const askedFor = (path: string): number => issuer.requests.filter((asked) => asked === path).length;

beforeAll(async () => {
  issuer = await startIssuer();
});

beforeEach(() => {
  // The clock is frozen and moves only when set; timers, which HTTP needs, keep running.
  const running = ['nextTick', 'performance', 'queueMicrotask', 'setImmediate', 'clearImmediate'] as const;
  const timers = ['hrtime', 'setInterval', 'clearInterval', 'setTimeout', 'clearTimeout'] as const;
  jest.useFakeTimers({ doNotFake: [...running, ...timers] });
  tokens = tokensOf(issuer.issuer);
  issuer.requests.length = 0;
});

afterEach(() => {
  jest.restoreAllMocks();
  jest.useRealTimers();
  issuer.up();
});

afterAll(() => issuer.close());

/** Why a token was refused, as code and sentence. */
const refusal = async (token: string, by = tokens): Promise<[string, string]> => {
  const error = await by.verify(token).then(
    () => new Error('The token was taken.'),
    (failure: unknown) => failure,
  );
  if (!(error instanceof ProblemError)) throw error;
  const parts = token.split('.').filter((part) => part.length > 5);
  expect(parts.filter((part) => JSON.stringify(error.problem).includes(part))).toEqual([]);
  return [error.code, error.message];
};

const unauthenticated = (rule: string): [string, string] => ['unauthenticated', `The access token ${rule}.`];
const AWAY = ['unavailable', 'The issuer of the access tokens cannot be reached now.'];
const NO_SUCH_KEY = unauthenticated('is signed with a key that its issuer does not publish');
const BAD_SIGNATURE = unauthenticated('has an invalid signature');
const BAD_ALGORITHM = unauthenticated('is signed by an algorithm that is not allowed');

const encoded = (part: object): string => Buffer.from(JSON.stringify(part)).toString('base64url');

/** The three parts, for tampering. */
const partsOf = (token: string): { header: string; payload: string; signature: Buffer } => {
  const [header = '', payload = '', signature = ''] = token.split('.');
  return { header, payload, signature: Buffer.from(signature, 'base64url') };
};

const claimsOf = (token: string): JWTPayload =>
  JSON.parse(Buffer.from(partsOf(token).payload, 'base64url').toString()) as JWTPayload;

describe('an access token', () => {
  it('from the issuer’s token endpoint identifies the sender', async () => {
    expect(await tokens.verify(await issuer.token())).toEqual({
      subject: 'site-office',
      credential: 'token',
    });
  });

  it('may name any subject but those that the service assigns itself', async () => {
    for (const subject of ['someone', 'keys', 'locally', 'Ж', 'x'.repeat(255)])
      expect((await tokens.verify(await issuer.token({ subject }))).subject).toBe(subject);
  });

  it.each(['RS256', 'PS256', 'ES256', 'EdDSA'])('may be signed by %s', async (alg) => {
    await issuer.rotateKeys({ alg });
    expect((await tokens.verify(await issuer.token())).subject).toBe('site-office');
    await issuer.rotateKeys();
  });

  // RFC 7519 section 4.1.3; RFC 9068 section 4 and RFC 7515 section 4.1.9 for the type
  it.each<[string, TokenOptions]>([
    ['several audiences', { claims: { aud: ['https://other.example', 'https://drivebook.example'] } }],
    ['the type in full', { header: { typ: 'application/at+jwt' } }],
    ['the type in capitals', { header: { typ: 'AT+JWT' } }],
  ])('may have %s', async (_, options) => {
    expect((await tokens.verify(await issuer.token(options))).subject).toBe('someone');
  });

  // RFC 7519 sections 4.1.4 and 4.1.5: a small leeway for clocks that differ
  it('is accepted within 5 s of its validity, and not beyond', async () => {
    const expired = (ago: number): Promise<string> => issuer.token({ claims: { exp: now() - ago } });
    const early = (ahead: number): Promise<string> => issuer.token({ claims: { nbf: now() + ahead } });
    expect((await tokens.verify(await expired(4))).subject).toBe('someone');
    expect((await tokens.verify(await early(5))).subject).toBe('someone');
    expect(await refusal(await expired(5))).toEqual(unauthenticated('has expired'));
    expect(await refusal(await early(6))).toEqual(unauthenticated('is not valid yet'));
  });
});

describe('a token that is not valid here', () => {
  it('expired', async () => {
    const token = await issuer.token();
    await tokens.verify(token);
    pass(306);
    expect(await refusal(token)).toEqual(unauthenticated('has expired'));
  });

  it('not yet valid', async () => {
    const token = await issuer.token({ claims: { nbf: now() + 60 } });
    expect(await refusal(token)).toEqual(unauthenticated('is not valid yet'));
  });

  // RFC 8725 section 3.9
  it.each(['https://other.example', ['https://other.example'], 'https://drivebook.example/', []])(
    'audience %j',
    async (aud) => {
      const token = await issuer.token({ claims: { aud } });
      expect(await refusal(token)).toEqual(unauthenticated('is meant for another audience'));
    },
  );

  // RFC 8725 section 3.8
  it.each(['https://issuer.example', 'http://127.0.0.1/'])('issuer %j', async (iss) => {
    const token = await issuer.token({ claims: { iss } });
    expect(await refusal(token)).toEqual(unauthenticated('comes from another issuer'));
  });

  it('another issuer’s own', async () => {
    const other = await startIssuer(issuer.audience);
    expect(await refusal(await other.token())).toEqual(NO_SUCH_KEY);
    await other.close();
  });

  // RFC 8725 section 3.11, RFC 9068 section 4: an ID token is signed by the same key
  it.each(['JWT', undefined, 'secevent+jwt', 'at+jwt+x', 'x/at+jwt'])('type %j', async (typ) => {
    const token = await issuer.token({ header: { typ } });
    expect(await refusal(token)).toEqual(unauthenticated('is not an access token: its type must be at+jwt'));
  });

  // RFC 9068 section 2.2
  it.each(['iss', 'aud', 'exp', 'iat', 'sub', 'client_id', 'jti'])('without the claim %s', async (name) => {
    const token = await issuer.token({ claims: { [name]: undefined } });
    expect(await refusal(token)).toEqual(unauthenticated(`has no valid claim "${name}"`));
  });

  it.each<[string, unknown]>([
    ['exp', '2099-01-01'],
    ['exp', null],
    ['iat', '0'],
    ['nbf', 'now'],
    ['sub', 7],
    ['sub', ''],
    ['sub', 'x'.repeat(256)],
    ['sub', 'a\u0000'],
    ['sub', 'a\nb'],
    ['sub', 'a\ud800'],
    ['client_id', ['site-office']],
    ['jti', ''],
  ])('claim %s %j', async (name, value) => {
    const token = await issuer.token({ claims: { [name]: value } });
    expect(await refusal(token)).toEqual(unauthenticated(`has no valid claim "${name}"`));
  });

  it.each(['key:x', 'key:', 'local'])(
    'subject %j, which would pass for another credential',
    async (subject) => {
      const token = await issuer.token({ subject });
      expect(await refusal(token)).toEqual(unauthenticated('has no valid claim "sub"'));
    },
  );
});

describe('a forged token', () => {
  // RFC 8725 sections 2.1 and 3.1
  it.each(['none', 'None', 'nOnE'])('of alg %s', async (alg) => {
    const { payload, signature } = partsOf(await issuer.token());
    const header = encoded({ alg, typ: 'at+jwt', kid: issuer.key().kid });
    expect(await refusal(`${header}.${payload}.`)).toEqual(BAD_ALGORITHM);
    expect(await refusal(`${header}.${payload}.${signature.toString('base64url')}`)).toEqual(BAD_ALGORITHM);
  });

  // RFC 8725 section 2.1: a public key used as a shared secret
  it('of HS256 with the public key as its secret', async () => {
    const { publicKey } = issuer.key();
    const pem = await exportSPKI(publicKey);
    const jwk = await exportJWK(publicKey);
    for (const secret of [pem, pem.trim(), JSON.stringify(jwk), String(jwk.n)]) {
      const signedBy = Buffer.from(secret);
      const token = await issuer.token({ header: { alg: 'HS256' }, signedBy });
      expect(await refusal(token)).toEqual(BAD_ALGORITHM);
    }
  });

  it('of an algorithm that is sound but not allowed', async () => {
    const only = new AccessTokens({
      issuer: issuer.issuer,
      audience: issuer.audience,
      algorithms: ['ES256'],
    });
    expect(await refusal(await issuer.token(), only)).toEqual(BAD_ALGORITHM);
  });

  it('by another key under the same key id', async () => {
    const { privateKey } = await newKey();
    expect(await refusal(await issuer.token({ signedBy: privateKey }))).toEqual(BAD_SIGNATURE);
  });

  it('by another key without a key id', async () => {
    const { privateKey } = await newKey();
    const token = await issuer.token({ signedBy: privateKey, header: { kid: undefined } });
    expect(await refusal(token)).toEqual(BAD_SIGNATURE);
  });

  // RFC 8725 section 3.10: headers that contain or point to a key of the sender
  it.each(['jku', 'x5u', 'jwk', 'x5c'])('by a key that its header supplies in %s', async (name) => {
    const forger = await newKey();
    const jwk = { ...(await exportJWK(forger.publicKey)), kid: forger.kid, alg: forger.alg };
    const asked: string[] = [];
    const server = await serve((request, response) => {
      asked.push(request.url ?? '');
      response.setHeader('content-type', 'application/json').end(JSON.stringify({ keys: [jwk] }));
    });
    const url = `${server.address}/keys`;
    const value = { jku: url, x5u: url, jwk, x5c: [jwk.n] }[name];
    for (const [kid, answer] of [
      [issuer.key().kid, BAD_SIGNATURE],
      [forger.kid, NO_SUCH_KEY],
    ] as const) {
      const token = await issuer.token({ header: { [name]: value, kid }, signedBy: forger.privateKey });
      expect(await refusal(token)).toEqual(answer);
    }
    expect(asked).toEqual([]);
    await server.close();
  });

  it('with a signature cut short, lengthened or left out', async () => {
    const { header, payload, signature } = partsOf(await issuer.token());
    const longer = Buffer.concat([signature, Buffer.alloc(1)]);
    for (const changed of [signature.subarray(0, -1), signature.subarray(0, 1), longer, Buffer.alloc(0)])
      expect(await refusal(`${header}.${payload}.${changed.toString('base64url')}`)).toEqual(BAD_SIGNATURE);
  });

  it('with any bit of the signature flipped', async () => {
    const { header, payload, signature } = partsOf(await issuer.token());
    for (let bit = 0; bit < signature.length * 8; bit += 37) {
      const changed = Buffer.from(signature);
      changed.writeUInt8(changed.readUInt8(bit >> 3) ^ (1 << (bit & 7)), bit >> 3);
      expect(await refusal(`${header}.${payload}.${changed.toString('base64url')}`)).toEqual(BAD_SIGNATURE);
    }
  });

  it('with claims changed under a good signature', async () => {
    const token = await issuer.token();
    const { header, signature } = partsOf(token);
    const payload = encoded({ ...claimsOf(token), sub: 'engineer' });
    expect(await refusal(`${header}.${payload}.${signature.toString('base64url')}`)).toEqual(BAD_SIGNATURE);
  });

  // RFC 7515 section 4.1.11
  it('with a critical extension', async () => {
    const { payload, signature } = partsOf(await issuer.token());
    const { kid, alg } = issuer.key();
    const header = encoded({ alg, kid, typ: 'at+jwt', crit: ['exp'], exp: 1 });
    expect(await refusal(`${header}.${payload}.${signature.toString('base64url')}`)).toEqual(
      unauthenticated('cannot be read'),
    );
  });

  it.each(['', 'x', 'a.b.c', '..', 'a.b.c.d.e', `${encoded({ alg: 'RS256' })}.e30`])(
    'that is not a JWT: %j',
    async (token) => {
      expect(await refusal(token)).toEqual(unauthenticated('cannot be read'));
      expect(issuer.requests).toEqual([]);
    },
  );
});

describe('the keys of the issuer', () => {
  it('are fetched at the first token, and kept', async () => {
    expect(issuer.requests).toEqual([]);
    const token = await issuer.token({ subject: 'a' });
    await Promise.all(Array.from({ length: 10 }, () => tokens.verify(token)));
    pass(60);
    await tokens.verify(token);
    expect(issuer.requests).toEqual(['/.well-known/openid-configuration', '/jwks']);
  });

  it('change without a restart: a new key is found, the old one is valid until it is withdrawn', async () => {
    const old = await issuer.token();
    await tokens.verify(old);
    await issuer.rotateKeys({ keepOld: true });
    const fresh = await issuer.token();
    pass(5);
    expect((await tokens.verify(fresh)).subject).toBe('site-office');
    expect((await tokens.verify(old)).subject).toBe('site-office');
    await issuer.rotateKeys();
    pass(5);
    await tokens.verify(await issuer.token());
    expect(await refusal(fresh)).toEqual(NO_SUCH_KEY);
    expect(await refusal(old)).toEqual(NO_SUCH_KEY);
  });

  it('are fetched again after 10 minutes, so that a withdrawn key ends', async () => {
    const token = await issuer.token({ claims: { exp: now() + 3600 } });
    await tokens.verify(token);
    await issuer.rotateKeys();
    pass(599);
    await tokens.verify(token);
    pass(1);
    expect(await refusal(token)).toEqual(NO_SUCH_KEY);
  });

  it('must be named when there are several', async () => {
    await issuer.rotateKeys({ keepOld: true });
    expect(await refusal(await issuer.token({ header: { kid: undefined } }))).toEqual(
      unauthenticated('does not say which key of its issuer signed it'),
    );
    await issuer.rotateKeys();
  });

  it('are not fetched again for each key that a stranger invents', async () => {
    const good = await issuer.token({ subject: 'a' });
    await tokens.verify(good);
    const { privateKey } = await newKey();
    const strangers = async (): Promise<unknown> => {
      const invented = Array.from({ length: 20 }, (_, kid) =>
        issuer.token({ header: { kid: `k${kid}` }, signedBy: privateKey }),
      );
      return Promise.all((await Promise.all(invented)).map((token) => refusal(token)));
    };
    expect(await strangers()).toEqual(Array(20).fill(NO_SUCH_KEY));
    expect(askedFor('/jwks')).toBe(1);
    pass(5);
    expect(await strangers()).toEqual(Array(20).fill(NO_SUCH_KEY));
    expect(await strangers()).toEqual(Array(20).fill(NO_SUCH_KEY));
    expect(askedFor('/jwks')).toBe(2);
    expect((await tokens.verify(good)).subject).toBe('a');
  });
});

describe('an issuer that cannot be reached', () => {
  it('at the first token: 503 after one request, and accepted later', async () => {
    const token = await issuer.token({ subject: 'a' });
    issuer.down();
    expect(await refusal(token)).toEqual(AWAY);
    for (let i = 0; i < 10; i++) expect(await refusal(token)).toEqual(AWAY);
    expect(askedFor('/.well-known/openid-configuration')).toBe(1);
    issuer.up();
    pass(5);
    expect((await tokens.verify(token)).subject).toBe('a');
  });

  it('later: known keys remain valid, for a new one it is asked once', async () => {
    const token = await issuer.token({ subject: 'a' });
    await tokens.verify(token);
    await issuer.rotateKeys();
    const fresh = await issuer.token({ subject: 'b' });
    issuer.down();
    pass(5);
    for (let i = 0; i < 10; i++) expect(await refusal(fresh)).toEqual(AWAY);
    expect(askedFor('/jwks')).toBe(2);
    expect((await tokens.verify(token)).subject).toBe('a');
    issuer.up();
    pass(5);
    expect((await tokens.verify(fresh)).subject).toBe('b');
  });

  it('that does not answer is waited for until a time limit', async () => {
    const hanging = await serve(() => undefined);
    const { timeout } = AbortSignal;
    jest.spyOn(AbortSignal, 'timeout').mockImplementation((ms) => timeout.call(AbortSignal, ms / 100));
    expect(await refusal(await issuer.token({}), tokensOf(hanging.address))).toEqual(AWAY);
    await hanging.close();
  });
});

describe('the metadata of the issuer', () => {
  /** An issuer with this metadata, whose keys are those of the other. */
  const describedAs = async (
    description: (address: string) => Record<string, unknown>,
    path = '',
  ): Promise<{ by: AccessTokens; iss: string; close(): Promise<void> }> => {
    let address = '';
    const server = await serve((request, response) => {
      const known = request.url === `${path.replace(/\/$/, '')}/.well-known/openid-configuration`;
      response.writeHead(known ? 200 : 404).end(known ? JSON.stringify(description(address)) : '');
    });
    address = server.address;
    return { by: tokensOf(`${address}${path}`), iss: `${address}${path}`, close: server.close };
  };

  // OpenID Connect Discovery 1.0 section 4.1: a trailing slash is dropped before the well-known path
  it.each(['', '/', '/realms/site', '/realms/site/'])(
    'is found for an issuer that ends in "%s"',
    async (path) => {
      const own = (address: string): Record<string, unknown> => ({
        issuer: `${address}${path}`,
        jwks_uri: `${issuer.issuer}/jwks`,
      });
      const { by, iss, close } = await describedAs(own, path);
      const token = await issuer.token({ claims: { iss } });
      expect((await by.verify(token)).subject).toBe('someone');
      await close();
    },
  );

  // OpenID Connect Discovery 1.0 section 4.3
  it('must name the configured issuer', async () => {
    const foreign = (): Record<string, unknown> => ({
      issuer: issuer.issuer,
      jwks_uri: `${issuer.issuer}/jwks`,
    });
    const { by, iss, close } = await describedAs(foreign);
    expect(await refusal(await issuer.token({ claims: { iss } }), by)).toEqual([
      'unavailable',
      'The issuer of the access tokens does not match OIDC_ISSUER.',
    ]);
    await close();
  });

  it.each(['http://keys.example/jwks', 'file:///etc/jwks', 'data:application/json,{"keys":[]}'])(
    'may not lead to keys that can be changed in transit: %s',
    async (jwks_uri) => {
      const { by, iss, close } = await describedAs((address) => ({ issuer: address, jwks_uri }));
      expect(await refusal(await issuer.token({ claims: { iss } }), by)).toEqual([
        'unavailable',
        'The issuer of the access tokens publishes its keys without TLS.',
      ]);
      await close();
    },
  );

  it('is not followed by redirects', async () => {
    const server = await serve((_, response) => {
      const location = `${issuer.issuer}/.well-known/openid-configuration`;
      response.writeHead(302, { location }).end();
    });
    expect(await refusal(await issuer.token({}), tokensOf(server.address))).toEqual(AWAY);
    expect(issuer.requests).toEqual([]);
    await server.close();
  });

  it('is invalid without keys', async () => {
    const { by, iss, close } = await describedAs((address) => ({ issuer: address }));
    expect(await refusal(await issuer.token({ claims: { iss } }), by)).toEqual(AWAY);
    await close();
  });
});
