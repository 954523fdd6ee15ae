import { mkdtemp, rm } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { buildSchema, parse, validate } from 'graphql';
import pg from 'pg';
import { startApp, type TestApp } from '../harness/app.js';
import { type Block, blocksOf, guide, page } from './pages.js';
import { inOneShell } from './shell.js';

const blocks = ['README.md', ...guide].flatMap(blocksOf);
const run = blocks.filter(({ notRun }) => notRun === undefined);
const of = (language: string, among = run): Block[] => among.filter((block) => block.language === language);
const shell = of('sh');

/** The lines that send a request, and the statuses that the text announces for refused ones. */
const requestsOf = ({ text }: Block): number => text.match(/(?:^|\$\()(?:curl|get|put) /gm)?.length ?? 0;
const refusedBy = ({ text }: Block): number[] =>
  [...text.matchAll(/^#.*\brefused with (\d{3})\b/gm)].map(([, status]) => Number(status));

describe('the commands of README and guide', () => {
  let app: TestApp;
  let folder: string;
  let shown: Awaited<ReturnType<typeof inOneShell>>;

  beforeAll(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'attachments-'));
    app = await startApp({
      ATTACHMENTS_DIR: folder,
      API_KEY_PEPPER: 'a pepper of the tests, and of nothing else',
      WEBHOOK_SENDING: 'on',
      WEBHOOK_ALLOWED_TARGETS: '127.0.0.1',
    });
    const { port } = app.app.getHttpServer().address() as AddressInfo;
    shown = await inOneShell(shell, port);
  });

  afterAll(async () => {
    await app.close();
    await rm(folder, { recursive: true });
  });

  it('are in languages that are executed, or say why they are not', () => {
    expect(new Set(run.map(({ language }) => language))).toEqual(new Set(['sh', 'graphql', 'sql']));
  });

  it('give the output shown, in one shell from the first page to the last', () => {
    expect({ status: shown.status, said: shown.said }).toEqual({ status: 0, said: '' });
    const answered = shell.map(({ place }) => {
      const sent = shown.sent[place] ?? [];
      return {
        place,
        requests: sent.length,
        refused: sent.filter(({ status }) => status < 200 || status > 299),
      };
    });
    expect(answered).toEqual(
      shell.map((block) => ({
        place: block.place,
        requests: requestsOf(block),
        refused: refusedBy(block).map((status) => ({ status, request: expect.any(String) })),
      })),
    );
  });

  it.each(of('graphql').map((block) => [block.place, block.text] as const))(
    'query at %s is answered without an error',
    async (_, query) => {
      const { body } = await app.http.post('/graphql').send({ query });
      expect(body).toEqual({ data: { drive: expect.any(Object) } });
    },
  );

  it.each(of('graphql', blocks).map((block) => [block.place, block.text] as const))(
    'operation at %s fits the schema',
    (_, text) => {
      expect(validate(buildSchema(page('docs/schema.gql')), parse(text))).toEqual([]);
    },
  );

  it.each(of('sql').map((block) => [block.place, block.text] as const))(
    'statements at %s each return rows to a read-only login',
    async (_, text) => {
      const client = new pg.Client({ connectionString: app.url, options: '-c role=drivebook_reader' });
      await client.connect();
      try {
        for (const statement of text.trim().split(/;\n?/).filter(Boolean))
          expect((await client.query(statement)).rows).not.toEqual([]);
      } finally {
        await client.end();
      }
    },
  );
});
