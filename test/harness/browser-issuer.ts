import { randomUUID } from 'node:crypto';
import type { IncomingMessage, RequestListener, ServerResponse } from 'node:http';
import { exportJWK } from 'jose';
import { Provider } from 'oidc-provider/lib/provider.js';
import { newKey, serve } from './issuer.js';

/** An issuer for browser sign-in, by authorization code with PKCE; whoever asks is signed in as the current person. */
export interface BrowserIssuer {
  issuer: string;
  audience: string;
  /** Person who signs in next. */
  person: string;
  /** While set, every connection is broken. */
  isDown: boolean;
  /** Follows the redirects of a browser until it is sent back to an address of the service. */
  visit(address: string): Promise<URL>;
  close(): Promise<void>;
}

/** Storage of the provider. */
class Kept {
  private static readonly all = new Map<string, Record<string, unknown>>();

  constructor(private readonly kind: string) {}

  find(id: string): Record<string, unknown> | undefined {
    return Kept.all.get(`${this.kind} ${id}`);
  }

  upsert(id: string, payload: Record<string, unknown>): void {
    Kept.all.set(`${this.kind} ${id}`, payload);
  }

  findByUid(uid: string): Record<string, unknown> | undefined {
    return [...Kept.all].find(([key, { uid: own }]) => key.startsWith(`${this.kind} `) && own === uid)?.[1];
  }

  consume(id: string): void {
    const found = this.find(id);
    if (found) found['consumed'] = Math.floor(Date.now() / 1000);
  }

  destroy(id: string): void {
    Kept.all.delete(`${this.kind} ${id}`);
  }

  revokeByGrantId(grant: string): void {
    for (const [key, { grantId }] of Kept.all) if (grantId === grant) Kept.all.delete(key);
  }
}

interface Grant {
  addOIDCScope(scope: string): void;
  addResourceScope(resource: string, scope: string): void;
  save(): Promise<string>;
}

interface Context {
  oidc: {
    session: { accountId: string };
    client: { clientId: string };
    provider: { Grant: new (of: object) => Grant };
  };
}

export const startBrowserIssuer = async (redirectUri: string): Promise<BrowserIssuer> => {
  const audience = 'https://drivebook.example';
  const key = await newKey();
  let answer: RequestListener = () => undefined;
  const { address: issuer, close } = await serve((request, response) => {
    if (self.isDown) return void request.socket.destroy();
    return answer(request, response);
  });
  const provider = new Provider(issuer, {
    adapter: Kept,
    clients: [
      {
        client_id: 'drivebook',
        token_endpoint_auth_method: 'none',
        redirect_uris: [redirectUri],
        grant_types: ['authorization_code'],
        response_types: ['code'],
      },
    ],
    cookies: { keys: [randomUUID()] },
    jwks: { keys: [{ ...(await exportJWK(key.privateKey)), kid: key.kid, alg: key.alg }] },
    findAccount: (_: unknown, id: string) => ({ accountId: id, claims: () => ({ sub: id }) }),
    interactions: { url: (_: unknown, { uid }: { uid: string }) => `/interaction/${uid}` },
    loadExistingGrant: async ({ oidc }: Context): Promise<Grant> => {
      const { accountId } = oidc.session;
      const grant = new oidc.provider.Grant({ accountId, clientId: oidc.client.clientId });
      grant.addOIDCScope('openid');
      grant.addResourceScope(audience, 'record');
      await grant.save();
      return grant;
    },
    pkce: { required: () => true },
    ttl: {
      AccessToken: 3600,
      AuthorizationCode: 600,
      IdToken: 3600,
      Interaction: 600,
      Session: 3600,
      Grant: 3600,
    },
    features: {
      devInteractions: { enabled: false },
      resourceIndicators: {
        enabled: true,
        useGrantedResource: () => true,
        getResourceServerInfo: () => ({
          ...{ scope: 'record', audience, accessTokenFormat: 'jwt', accessTokenTTL: 3600 },
          jwt: { sign: { alg: key.alg } },
        }),
      },
    },
  });
  const listener = provider.callback();
  answer = (request: IncomingMessage, response: ServerResponse): void => {
    if (request.url?.startsWith('/interaction/') === true)
      void provider.interactionFinished(request, response, { login: { accountId: self.person } });
    else listener(request, response);
  };
  const self: BrowserIssuer = {
    ...{ issuer, audience, person: 'someone', isDown: false },
    visit: async (address) => {
      const jar = new Map<string, string>();
      let next = new URL(address);
      for (let step = 0; step < 10; step += 1) {
        const cookie = [...jar].map((each) => each.join('=')).join('; ');
        const { status, headers } = await fetch(next, { redirect: 'manual', headers: { cookie } });
        for (const line of headers.getSetCookie()) {
          const [, name = '', value = ''] = /^([^=]+)=([^;]*)/.exec(line) ?? [];
          jar.set(name, value);
        }
        const location = headers.get('location');
        if (location === null) throw new Error(`${next.href} was answered ${status} and led nowhere`);
        next = new URL(location, next);
        if (next.origin !== issuer) return next;
      }
      throw new Error(`${address} leads round in a circle`);
    },
    close,
  };
  return self;
};
