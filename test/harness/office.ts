import type { TestApp } from './app.js';
import { startGuarded } from './guarded.js';
import { keptAlive } from './kept-alive.js';

/** The service for several people, authenticated by access tokens. */
export interface Office extends TestApp {
  /** Headers that authenticate a person. */
  headersOf(who: string): { Authorization: string };
  /** The service as used by a person. */
  as(who: string): TestApp;
  /** Gives people roles in a project, bypassing the service. */
  employ(project: string, roles: Record<string, string>): Promise<void>;
}

/** @param administrator  of the installation */
export const startOffice = async (
  administrator: string,
  people: string[],
  settings?: NodeJS.ProcessEnv,
): Promise<Office> => {
  const app = await startGuarded(administrator, settings);
  const tokens = new Map<string, string>();
  for (const subject of [administrator, ...people]) tokens.set(subject, await app.token(subject));
  const headersOf = (who: string) => ({ Authorization: `Bearer ${tokens.get(who)}` });
  return {
    ...app,
    headersOf,
    as: (who) => ({
      ...app,
      http: keptAlive(app.app.getHttpServer()).set(headersOf(who)) as unknown as TestApp['http'],
    }),
    employ: async (project, roles) => {
      for (const [who, role] of Object.entries(roles))
        await app.sql(
          'insert into member (project_id, subject, role) select id, $2, $3::role from project where code = $1',
          [project, who, role],
        );
    },
  };
};
