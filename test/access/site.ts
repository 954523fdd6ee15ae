import type supertest from 'supertest';
import { type Guarded, startGuarded } from '../harness/guarded.js';
import { until } from '../harness/until.js';

export { PEPPER } from '../harness/app.js';

/** Administrator of the installation, and so of every project. */
export const OWNER = 'owner';

/** Sends requests with one credential. */
export interface Caller {
  get(path: string): supertest.Test;
  put(path: string, body: object): supertest.Test;
  post(path: string, body: object): supertest.Test;
  delete(path: string): supertest.Test;
  /** Sends a small file. */
  upload(path: string): supertest.Test;
  graphql(query: string, variables?: object): supertest.Test;
}

export interface Site extends Guarded {
  /** A caller with an access token for this subject. */
  as(subject: string): Promise<Caller>;
  /** A caller with this token or key. */
  bearing(credential: string): Caller;
  /** Creates a project, as the administrator of the installation. */
  project(code: string): Promise<void>;
}

/** The service as deployed: every request must authenticate. */
export const startSite = async (settings?: NodeJS.ProcessEnv): Promise<Site> => {
  const app = await startGuarded(OWNER, settings);
  const bearing = (credential: string): Caller => {
    const sent = (request: supertest.Test): supertest.Test =>
      request.set('Authorization', `Bearer ${credential}`);
    return {
      get: (path) => sent(app.http.get(path)),
      put: (path, body) => sent(app.http.put(path)).send(body),
      post: (path, body) => sent(app.http.post(path)).send(body),
      delete: (path) => sent(app.http.delete(path)),
      upload: (path) => sent(app.http.post(path)).attach('file', Buffer.from('a,b\n'), 'table.csv'),
      graphql: (query, variables) => sent(app.http.post('/graphql')).send({ query, variables }),
    };
  };
  const as = async (subject: string): Promise<Caller> => bearing(await app.token(subject));
  return {
    ...app,
    as,
    bearing,
    project: async (code) => {
      const body = { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' };
      const { status, text } = await (await as(OWNER)).put(`/v1/projects/${code}`, body);
      if (status >= 300) throw new Error(`${code}: ${status} ${text}`);
    },
  };
};

/** The service caches access for 2 s: repeats a request until it is answered as expected. */
export const untilAnswered = async (
  ask: () => supertest.Test,
  status: number,
): Promise<supertest.Response> => {
  let answer = await ask();
  await until(async () => answer.status === status || (answer = await ask()).status === status);
  return answer;
};
