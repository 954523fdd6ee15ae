import { inPieces, PIECE } from '../../src/common/api/in-pieces.js';
import { openApiOf } from '../../src/common/api/openapi.js';
import { startApp, type TestApp } from '../harness/app.js';

const textOf = async (pieces: AsyncIterable<Buffer>): Promise<string> => {
  const found: Buffer[] = [];
  for await (const piece of pieces) found.push(piece);
  return Buffer.concat(found).toString('utf8');
};

describe('a long text in pieces', () => {
  it.each([0, 1, 2])('is the same text, whatever is at the division (%i before the end)', async (before) => {
    const text = `${'ä'.repeat(PIECE - before)}${'🪨'.repeat(PIECE)}${'€'.repeat(PIECE)}`;
    expect(await textOf(inPieces(text))).toBe(text);
  });

  it('leaves the event loop to others after each piece', async () => {
    const count = 40;
    let turns = 0;
    let isOver = false;
    const other = (): void => void (isOver || ((turns += 1), setImmediate(other)));
    setImmediate(other);
    await textOf(inPieces('x'.repeat(count * PIECE)));
    isOver = true;
    expect(turns).toBeGreaterThanOrEqual(count);
  });
});

describe('a long answer', () => {
  let app: TestApp;
  let expected: string;

  beforeAll(async () => {
    app = await startApp();
    expected = JSON.stringify(openApiOf(app.app));
    expect(expected.length).toBeGreaterThan(PIECE);
  });

  afterAll(() => app.close());

  it.each(['identity', 'gzip', 'br'])('comes whole, piece by piece (%s)', async (encoding) => {
    const answer = await app.http.get('/v1/openapi.json').set('accept-encoding', encoding);
    expect(answer.status).toBe(200);
    expect([answer.headers['transfer-encoding'], answer.headers['content-length']]).toEqual([
      'chunked',
      undefined,
    ]);
    expect(answer.body).toEqual(JSON.parse(expected));
  });

  it('of HEAD has no body', async () => {
    const answer = await app.http.head('/v1/openapi.json');
    expect([answer.status, answer.text]).toEqual([200, undefined]);
  });
});
