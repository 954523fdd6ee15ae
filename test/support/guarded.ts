import { startApp, type TestApp } from './app.js';
import { startIssuer } from './issuer.js';

/** The service as it runs for many: it asks everybody who they are. */
export interface Guarded extends TestApp {
  /** An access token of this subject, from an issuer of the test's own. */
  token(subject: string): Promise<string>;
}

/** @param administrator  of the installation */
export const startGuarded = async (
  administrator: string,
  settings: NodeJS.ProcessEnv = {},
): Promise<Guarded> => {
  const issuer = await startIssuer();
  const app = await startApp({
    AUTH: 'required',
    HOST: '127.0.0.1',
    OIDC_ISSUER: issuer.issuer,
    OIDC_AUDIENCE: issuer.audience,
    ...settings,
  });
  await app.sql('insert into administrator (subject) values ($1)', [administrator]);
  return {
    ...app,
    // for a day: a loaded machine must not decide
    token: (subject) => issuer.token({ subject, claims: { exp: Math.floor(Date.now() / 1000) + 86_400 } }),
    close: async () => {
      await app.close();
      await issuer.close();
    },
  };
};
