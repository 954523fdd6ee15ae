import { startApp, type TestApp } from '../../harness/app.js';
import { read } from './looked-at.js';

/** Accept header of a browser that opens an address. */
const BROWSER = 'text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
});

afterAll(() => app.close());

describe('/graphql in a browser', () => {
  it('is a page that loads everything from this service, and nothing by inline scripts', async () => {
    const { status, headers, text } = await app.http.get('/graphql').set('accept', BROWSER);
    expect([status, headers['content-type']]).toEqual([200, 'text/html; charset=utf-8']);
    expect(headers['content-security-policy']).toMatch(
      /default-src 'none';.*script-src 'self';.*connect-src 'self'/,
    );
    expect(headers['content-security-policy']).not.toMatch(/unsafe|https?:/);
    const page = read(text);
    const loaded = [...page.querySelectorAll('script, link')].map(
      (each) => each.getAttribute('src') ?? each.getAttribute('href'),
    );
    expect(loaded).toHaveLength(7);
    for (const address of loaded) {
      expect(address).toMatch(/^\/assets\/[\w.-]+$/);
      const file = await app.http.get(String(address));
      expect([address, file.status]).toEqual([address, 200]);
    }
    expect([...page.querySelectorAll('script')].map(({ textContent }) => textContent).join('')).toBe('');
  });

  it.each([
    ['a program that accepts anything', '/graphql', '*/*'],
    ['a program that accepts JSON first', '/graphql', 'application/json, text/html;q=0.9'],
    ['a browser that is given a query in the address', '/graphql?query={projects{code}}', BROWSER],
  ])('%s is told to send operations by POST', async (_, address, accept) => {
    const { status, headers } = await app.http.get(address).set('accept', accept);
    expect([status, headers.allow]).toEqual([405, 'POST, OPTIONS']);
  });
});
