import { appOf, startService, type TestApp } from './app.js';
import { startIssuer, type Issuer } from './issuer.js';
import { type Service, SharedServices } from './shared-service.js';

/** The service as deployed: every request must authenticate. */
export interface Guarded extends TestApp {
  /** An access token for this subject, from the test's own issuer. */
  token(subject: string): Promise<string>;
}

interface GuardedService extends Service {
  issuer: Issuer;
}

const startGuardedService = async (settings: NodeJS.ProcessEnv): Promise<GuardedService> => {
  const issuer = await startIssuer();
  const service = await startService({
    AUTH: 'required',
    HOST: '127.0.0.1',
    OIDC_ISSUER: issuer.issuer,
    OIDC_AUDIENCE: issuer.audience,
    ...settings,
  });
  return {
    ...service,
    issuer,
    close: async () => {
      await service.close();
      await issuer.close();
    },
  };
};

const shared = new SharedServices(() => startGuardedService({}));

/**
 * Without settings, files share one service, which accepts API keys.
 * @param administrator  of the installation
 */
export const startGuarded = async (administrator: string, settings?: NodeJS.ProcessEnv): Promise<Guarded> => {
  const service = await (settings ? startGuardedService(settings) : shared.take());
  const app = appOf(service);
  await app.sql('insert into administrator (subject) values ($1)', [administrator]);
  return {
    ...app,
    // valid for a day, so that a slow machine does not matter
    token: (subject) =>
      service.issuer.token({ subject, claims: { exp: Math.floor(Date.now() / 1000) + 86_400 } }),
  };
};
