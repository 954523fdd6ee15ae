import { randomUUID } from 'node:crypto';
import { once } from 'node:events';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { exportJWK, generateKeyPair, SignJWT } from 'jose';
import type { OidcConfig } from '../common/config/config.js';

const ALGORITHM = 'ES256';
/** Longer than any machine needs to load the drive. [s] */
const LASTS_S = 3600;

export interface DemoIssuer {
  /** The setting with which the demo's own service is started; no other service accepts this issuer. */
  oidc: OidcConfig;
  token(subject: string): Promise<string>;
  stop(): void;
}

/**
 * Issues access tokens to the invented people, so that they sign as individuals and the service verifies them as usual. Its key
 * is generated for this run, cannot be exported and ends with it.
 */
export const startIssuer = async (): Promise<DemoIssuer> => {
  const { privateKey, publicKey } = await generateKeyPair(ALGORITHM);
  const kid = randomUUID();
  const keys = [{ ...(await exportJWK(publicKey)), kid, alg: ALGORITHM, use: 'sig' }];
  const server = createServer((request, response) => {
    const answers: Record<string, object> = {
      '/.well-known/openid-configuration': { issuer, jwks_uri: `${issuer}/keys` },
      '/keys': { keys },
    };
    const answer = answers[request.url ?? ''];
    response.writeHead(answer ? 200 : 404, { 'content-type': 'application/json' });
    response.end(JSON.stringify(answer ?? {}));
  });
  server.listen(0, '127.0.0.1');
  await once(server, 'listening');
  const issuer = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  const audience = `drivebook-demo-${randomUUID()}`;
  return {
    oidc: { issuer, audience, algorithms: [ALGORITHM] },
    token: (subject) =>
      new SignJWT({ client_id: 'drivebook-demo' })
        .setProtectedHeader({ alg: ALGORITHM, kid, typ: 'at+jwt' })
        .setIssuer(issuer)
        .setAudience(audience)
        .setSubject(subject)
        .setJti(randomUUID())
        .setIssuedAt()
        .setExpirationTime(Math.floor(Date.now() / 1000) + LASTS_S)
        .sign(privateKey),
    stop: () => {
      server.close();
      server.closeAllConnections();
    },
  };
};
