import { assetPath } from '../../../src/common/html/assets.js';
import { Page, PAGE_POLICY, pageText } from '../../../src/common/html/page.js';
import { startApp, type TestApp } from '../../harness/app.js';

const HOSTILE = `</title><script>alert("1")</script>' onload='x" onload="y&amp;`;

describe('the frame of a page', () => {
  it('escapes text, attributes and the title', () => {
    const text = pageText(
      <Page title={HOSTILE}>
        <p title={HOSTILE}>{HOSTILE}</p>
        <textarea>{HOSTILE}</textarea>
      </Page>,
    );
    // no tag of the hostile text is left, and no quotation mark that would end an attribute
    expect(text.match(/<script/g)).toBeNull();
    expect(text.match(/<\/title>/g)).toHaveLength(1);
    expect(text).toContain('<p title="&lt;/title>&lt;script>alert(&quot;1&quot;)');
    expect(text).toContain('&amp;amp;');
  });

  it('has language, title and viewport, and loads nothing from elsewhere', () => {
    const text = pageText(
      <Page title="Drive D1">
        <main />
      </Page>,
    );
    expect(text.startsWith('<!doctype html>\n<html lang="en"><head><meta charset="utf-8"/>')).toBe(true);
    expect(text).toContain('<title>Drive D1 – Drivebook</title>');
    expect(text).toContain('<meta name="viewport" content="width=device-width, initial-scale=1"/>');
    expect([...text.matchAll(/(?:href|src)="([^"]*)"/g)].map(([, to]) => to)).toEqual([
      assetPath('icon.svg'),
      assetPath('page.css'),
    ]);
  });

  it('allows a page to load from and send to this service only', () => {
    // Content Security Policy Level 3: 'self' is the origin of the page
    for (const directive of PAGE_POLICY.split('; ')) expect(directive).toMatch(/^[a-z-]+ '(self|none)'$/);
  });
});

describe('files of the pages', () => {
  let app: TestApp;
  beforeAll(async () => {
    app = await startApp();
  });
  afterAll(() => app.close());

  it('are served to everybody and may be cached', async () => {
    const answer = await app.http.get(assetPath('page.css'));
    expect(answer.status).toBe(200);
    expect(answer.headers['content-type']).toBe('text/css; charset=utf-8');
    expect(answer.headers['cache-control']).toBe('public, max-age=31536000, immutable');
    expect(answer.headers['x-content-type-options']).toBe('nosniff');
  });

  it.each(['page.css', 'page-000000000000.css', '..%2fpackage.json', 'constructor'])(
    'are not found as %s',
    async (name) => {
      const answer = await app.http.get(`/assets/${name}`);
      expect([answer.status, answer.body.type]).toEqual([404, '/docs/problems#not_found']);
    },
  );

  it('accept no parameter and no other method', async () => {
    const file = assetPath('page.css');
    expect((await app.http.get(`${file}?v=1`)).status).toBe(422);
    const put = await app.http.put(file);
    expect([put.status, put.headers.allow]).toEqual([405, 'GET, HEAD']);
    expect((await app.http.head(file)).status).toBe(200);
  });
});
