import { randomUUID } from 'node:crypto';
import { once } from 'node:events';
import { createServer, type RequestListener } from 'node:http';
import type { AddressInfo } from 'node:net';
import {
  type CryptoKey,
  exportJWK,
  generateKeyPair,
  type JWK,
  type JWTHeaderParameters,
  type JWTPayload,
  SignJWT,
} from 'jose';
import { Provider } from 'oidc-provider/lib/provider.js'; // its index would warn about Node 20 on every run

export interface SigningKey {
  kid: string;
  alg: string;
  privateKey: CryptoKey;
  publicKey: CryptoKey;
}

export interface TokenOptions {
  subject?: string;
  /** Claims in addition to or in place of the usual ones; undefined removes one. */
  claims?: Record<string, unknown>;
  /** The same for the header. */
  header?: Record<string, unknown>;
  /** Key in place of the issuer's. */
  signedBy?: CryptoKey | Uint8Array;
}

export interface Issuer {
  issuer: string;
  audience: string;
  /** Paths requested, also while it is down. */
  requests: string[];
  /** Current signing key. */
  key(): SigningKey;
  /** From its token endpoint (client credentials); with options, a token of the same form, made directly. */
  token(options?: TokenOptions): Promise<string>;
  /** Creates a new signing key; the old one is withdrawn unless it is kept. */
  rotateKeys(options?: { keepOld?: boolean; alg?: string }): Promise<void>;
  /** Breaks every connection until up(). */
  down(): void;
  up(): void;
  close(): Promise<void>;
}

const CLIENT = { client_id: 'site-office', client_secret: randomUUID() };

export const newKey = async (alg = 'RS256', kid: string = randomUUID()): Promise<SigningKey> => ({
  kid,
  alg,
  ...(await generateKeyPair(alg, { extractable: true })),
});

/** A server on a free port of 127.0.0.1. */
export const serve = async (
  listener: RequestListener,
): Promise<{ address: string; close(): Promise<void> }> => {
  const server = createServer(listener);
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  const close = async (): Promise<void> => {
    server.closeAllConnections();
    server.close();
    await once(server, 'close');
  };
  return { address: `http://127.0.0.1:${port}`, close };
};

/** JWTs are not stored; without this the package would warn about storing in memory. */
class Nothing {
  find(): undefined {}
  upsert(): void {}
}

const providerOf = async (issuer: string, audience: string, keys: SigningKey[]): Promise<RequestListener> => {
  const jwks = keys.map(async ({ privateKey, kid, alg }): Promise<JWK> => ({
    ...(await exportJWK(privateKey)),
    kid,
    alg,
  }));
  const alg = keys[0]?.alg;
  const client = { ...CLIENT, grant_types: ['client_credentials'], redirect_uris: [], response_types: [] };
  const resource = {
    scope: '',
    audience,
    accessTokenFormat: 'jwt',
    accessTokenTTL: 300,
    jwt: { sign: { alg } },
  };
  return new Provider(issuer, {
    adapter: Nothing,
    clients: [client],
    clientDefaults: { id_token_signed_response_alg: alg },
    cookies: { keys: [randomUUID()] },
    jwks: { keys: await Promise.all(jwks) },
    ttl: { ClientCredentials: 300 },
    features: {
      clientCredentials: { enabled: true },
      devInteractions: { enabled: false },
      resourceIndicators: { enabled: true, getResourceServerInfo: () => resource },
    },
  }).callback();
};

/** An issuer of access tokens (RFC 9068) on this machine, with a client that can request them. */
export const startIssuer = async (audience = 'https://drivebook.example'): Promise<Issuer> => {
  let keys = [await newKey()];
  let answer: RequestListener = () => undefined;
  let isDown = false;
  const requests: string[] = [];
  const { address: issuer, close } = await serve((request, response) => {
    requests.push(request.url ?? '');
    if (isDown) return void request.socket.destroy();
    return answer(request, response);
  });
  answer = await providerOf(issuer, audience, keys);
  const key = (): SigningKey => keys[0] as SigningKey;

  const granted = async (): Promise<string> => {
    const response = await fetch(`${issuer}/token`, {
      method: 'POST',
      headers: { authorization: `Basic ${btoa(Object.values(CLIENT).join(':'))}` },
      body: new URLSearchParams({ grant_type: 'client_credentials', resource: audience }),
    });
    const body = (await response.json()) as { access_token?: string };
    if (body.access_token === undefined) throw new Error(`No token: ${JSON.stringify(body)}`);
    return body.access_token;
  };

  const made = ({ subject, claims, header, signedBy }: TokenOptions): Promise<string> => {
    const now = Math.floor(Date.now() / 1000);
    const payload: JWTPayload = {
      iss: issuer,
      aud: audience,
      sub: subject ?? 'someone',
      client_id: CLIENT.client_id,
      jti: randomUUID(),
      iat: now,
      exp: now + 3600, // a loaded machine may be slow
      ...claims,
    };
    const { alg, kid, privateKey } = key();
    const protectedHeader = { alg, kid, typ: 'at+jwt', ...header } as JWTHeaderParameters;
    return new SignJWT(payload).setProtectedHeader(protectedHeader).sign(signedBy ?? privateKey);
  };

  return {
    issuer,
    audience,
    requests,
    key,
    token: (options) => (options ? made(options) : granted()),
    rotateKeys: async ({ keepOld = false, alg } = {}) => {
      keys = [await newKey(alg), ...(keepOld ? keys : [])];
      answer = await providerOf(issuer, audience, keys);
    },
    down: () => void (isDown = true),
    up: () => void (isDown = false),
    close,
  };
};
