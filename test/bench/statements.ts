import pg from 'pg';
import { loadConfig } from '../../src/common/config/config.js';
import { PROJECT } from './comparisons.js';
import { Connection } from './processes.js';
import { Face } from './shift-maker.js';

/** Statements sent to PostgreSQL per request, shortened. */
export type Statements = Record<string, string[]>;

const heard: string[] = [];

const listen = (): void => {
  const { prototype } = pg.Client as { prototype: { query(...given: unknown[]): unknown } };
  const { query } = prototype;
  prototype.query = function (...given) {
    const [first] = given as [string | { text?: string }];
    const text = typeof first === 'string' ? first : (first.text ?? '');
    heard.push(text.replace(/\s+/g, ' ').slice(0, 90));
    return query.apply(this, given);
  };
};

/** Serves the application from this process and counts its statements for each kind of request. */
export const countStatements = async (databaseUrl: string): Promise<Statements> => {
  const { createApp } = await import('../../src/app.js');
  const app = await createApp({ ...loadConfig({ LOG_LEVEL: 'warn' }), databaseUrl });
  await app.listen(0, '127.0.0.1');
  const connection = new Connection(await app.getUrl());
  const { date, shift, body } = new Face(1000, 8000, 12_000_000).next();
  const drive = `${PROJECT}/drives/NEW`;
  const path_ = `${drive}/shifts/${date}/${shift}`;
  const put = (document: object, headers = {}) =>
    connection.send('PUT', path_, JSON.stringify({ ...document, state: 'draft' }), headers);
  const sent: Statements = {};
  const count = async <T>(what: string, request: () => Promise<T>): Promise<T> => {
    heard.length = 0;
    const answer = await request();
    sent[what] = [...heard];
    return answer;
  };
  try {
    await connection.send('GET', `${drive}/progress`); // opens the pool
    listen();
    const { etag = '' } = await count('shift PUT, created', () => put(body));
    await count('shift PUT, unchanged', () => put(body));
    await count('shift PUT, replaced', () => put({ ...body, remark: 'read again' }, { 'if-match': etag }));
    await count('shift GET', () => connection.send('GET', path_));
    await count('stroke list', () => connection.send('GET', `${drive}/strokes?first=1000`));
    await count('progress', () => connection.send('GET', `${drive}/progress`));
    await count('advance by day', () => connection.send('GET', `${drive}/advance/days`));
    await count('advance by shift', () => connection.send('GET', `${drive}/advance/shifts`));
    const graphql = (query: string) => connection.send('POST', '/graphql', JSON.stringify({ query }));
    await count('GraphQL: projects', () => graphql('{ projects { code } }'));
    await count('GraphQL: progress and strokes of all drives', () =>
      graphql('{ projects { drives { progress { faceChainage } strokes { nodes { number } } } } }'),
    );
    await count('open items', () => connection.send('GET', `${drive}/open-items`));
  } finally {
    connection.close();
    await app.close();
  }
  return sent;
};
