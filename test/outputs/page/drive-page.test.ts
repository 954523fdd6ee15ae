import { jest } from '@jest/globals';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { hearStatements } from '../../harness/sent.js';
import { findings, read, textOf } from './looked-at.js';

// Figures by hand: two strokes of 6 m and 3.5 m on one morning, with 2 m unrecorded between them.

const PAGE = '/projects/P1/drives/N';
const API = '/v1/projects/P1/drives/N';
const HOSTILE = `<script>alert(1)</script>"'><img src=x onerror=alert(2)>&amp;`;

let app: TestApp;

const put = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(path).send(body);
  if (status >= 300) throw new Error(`${path}: ${status} ${text}`);
};

const bore = (date: string, stroke: number, from: string, to: string, starts: string, ends: string) =>
  put(`${API}/shifts/${date}/day`, aShift(date).withStroke(stroke, from, to, starts, ends).build());

const open = async (path = PAGE): Promise<Document> => {
  const { status, text } = await app.http.get(path);
  expect([path, status]).toEqual([path, 200]);
  return read(text);
};

const tiles = (page: Document): string[] => [...page.querySelectorAll('.tile')].map(textOf);
const part = (page: Document, id: string): string =>
  textOf(page.querySelector(`section[aria-labelledby="${id}"]`));

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await put(
    `${API}/shifts/2024-03-01/day`,
    aShift('2024-03-01')
      .withStroke(1, '1+200', '1+206', '06:00', '07:00')
      .withStroke(2, '1+208', '1+211.5', '08:00', '09:00')
      .build(),
  );
  await put(`${API}/programmes/P`, {
    points: [
      { date: '2024-03-01', chainage: '1+210' },
      { date: '2024-03-11', chainage: '1+310' },
    ],
  });
  await put(`${API}/hold-points/FAULT`, { chainage: '1+230', reason: 'Fault zone', side: 'client' });
  await put(`${API}/hold-points/PASSED`, { chainage: '1+210', reason: 'Portal', side: 'client' });
});

afterAll(() => app.close());

describe('the page of a drive', () => {
  it('shows the face, the last 24 hours and 7 days beside the best, and the programme', async () => {
    const [face, day, week, programme] = tiles(await open());
    expect(face).toBe(
      'Face 1+211.500 11.5 m driven of 1000 m last boring ended 1 Mar 2024, 09:00 2 m behind the face not recorded as bored',
    );
    // nothing has been bored since: both periods end with the last boring, and contain 6 m + 3.5 m
    const strokes = '2 strokes, 1+200.000 to 1+211.500; to 1 Mar 2024, 09:00';
    expect(day).toBe(`Last 24 h 9.5 m best 24 h 9.5 m, to 1 Mar 2024, 09:00 ${strokes}`);
    expect(week).toBe(`Last 7 days 9.5 m best 7 days 9.5 m, to 1 Mar 2024, 09:00 ${strokes}`);
    expect(programme).toBe(
      'Programme P 1.5 m ahead planned 1+210.000, face 1+211.500 at the end of Fri, 1 Mar 2024',
    );
    expect(part(await open(), 'advance')).toContain('Nothing was bored in the last 7 days');
  });

  it('shows what lies ahead and what is open, with the cautions of each', async () => {
    const page = await open();
    const [cover, [point], alerts, items] = await Promise.all(
      [
        `${API}/probe-cover`,
        `${API}/hold-points`,
        '/v1/projects/P1/alerts?state=open',
        `${API}/open-items`,
      ].map(async (path) => (await app.http.get(path)).body),
    );
    const ahead = part(page, 'ahead');
    expect(ahead).toContain('Next hold point FAULT at 1+230.000, 18.5 m ahead'); // 1+230 − 1+211.5
    expect(ahead).toContain('1 hold point behind the face is not released.');
    for (const text of [...cover.reasons, cover.caution, point.caution]) expect(ahead).toContain(text);
    expect(alerts.items).toHaveLength(1);
    for (const { text, caution } of alerts.items) {
      expect(part(page, 'alerts')).toContain(text);
      expect(part(page, 'alerts')).toContain(caution);
    }
    expect(items.length).toBeGreaterThan(0);
    for (const { detail } of items) expect(part(page, 'open-items')).toContain(detail);
  });

  it('lists the production days, and shows the available diagrams', async () => {
    const page = await open();
    expect(part(page, 'days')).toBe(
      'Last production days Day Advance [m] Strokes Face at end Report 2024-03-01 9.500 2 1+211.500 PDF',
    );
    const { body } = await app.http.get(`${API}/diagrams`);
    const shown = [...page.querySelectorAll('.diagram img')];
    expect(shown.map((image) => image.getAttribute('src'))).toEqual(
      body.map(({ svg }: { svg: string }) => svg),
    );
    for (const image of shown) expect(image.getAttribute('alt')).toMatch(/^\w.+: \w.+/);
  });

  it('has only addresses that exist', async () => {
    const page = await open();
    const addresses = [...page.querySelectorAll('a[href^="/"], form:not([method])')].map(
      (each) => each.getAttribute('href') ?? `${each.getAttribute('action')}?from=1%2B200&to=1%2B211.5`,
    );
    expect(addresses.length).toBeGreaterThan(15);
    for (const address of new Set(addresses)) {
      const { status } = await app.http.get(address).set('accept', 'text/html, */*;q=0.8');
      expect([address, [200, 302].includes(status)]).toEqual([address, true]);
    }
    const { dataset } = page.querySelector('main')!;
    const { status } = await app.http.get(dataset['changes'] ?? '');
    expect(status).toBe(200);
  });

  it('says so where a drive has no data yet', async () => {
    await aDrive(app, { drive: 'EMPTY' });
    const page = await open('/projects/P1/drives/EMPTY');
    expect(tiles(page)[0]).toContain('nothing bored yet');
    expect(tiles(page).at(-1)).toBe('Programme No programme is entered for this drive.');
    expect(part(page, 'days')).toContain('Nothing is recorded yet.');
    expect(part(page, 'open-items')).toContain('No open items.');
    expect(await findings((await app.http.get('/projects/P1/drives/EMPTY')).text)).toEqual([]);
  });

  it('neither runs nor loads anything from texts of the record', async () => {
    await put('/v1/projects/P1', { name: HOSTILE, timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' });
    const { body: drive } = await app.http.get(API);
    await put(API, { ...drive, name: HOSTILE });
    const page = await open();
    expect(textOf(page.querySelector('.where'))).toBe(HOSTILE);
    expect(textOf(page.querySelector('h1'))).toBe(`${HOSTILE} N`);
    expect(page.title).toBe(`N ${HOSTILE} – Drivebook`);
    const scripts = [...page.querySelectorAll('script')];
    expect(scripts.map((script) => script.getAttribute('src'))).toEqual([
      expect.stringMatching(/^\/assets\/follow-\w+\.js$/),
    ]);
    expect(page.querySelector('img[onerror], [onload], [style], style')).toBeNull();
  });

  it('has no fault found by axe-core', async () => {
    expect(await findings((await app.http.get(PAGE)).text)).toEqual([]);
  });

  it('needs no more statements for a longer record', async () => {
    const asked = async (): Promise<number> => {
      const counts: number[] = [];
      for (let time = 0; time < 3; time += 1) {
        const heard = hearStatements();
        await open();
        counts.push(heard.length);
        jest.restoreAllMocks();
      }
      return Math.min(...counts);
    };
    const before = await asked();
    for (const [index, date] of ['2024-03-02', '2024-03-03', '2024-03-04'].entries())
      await bore(date, 3 + index, `1+${212 + 2 * index}`, `1+${214 + 2 * index}`, '06:00', '07:00');
    expect(await asked()).toBe(before);
  });
});

describe('the pages', () => {
  it('take the reader to the only drive, and list several', async () => {
    const page = await open('/');
    expect([...page.querySelectorAll('tbody a')].map((link) => link.getAttribute('href'))).toEqual([
      '/projects/P1/drives/EMPTY',
      PAGE,
    ]);
    expect(await findings((await app.http.get('/')).text)).toEqual([]);
    await app.http.delete('/v1/projects/P1/drives/EMPTY');
    const { status, headers } = await app.http.get('/');
    expect([status, headers.location]).toEqual([302, PAGE]);
  });

  it('may load from and send to this service only, and are not cached', async () => {
    const { headers } = await app.http.get(PAGE);
    expect(headers['content-type']).toBe('text/html; charset=utf-8');
    expect(headers['content-security-policy']).toMatch(/^default-src 'none'; .*frame-ancestors 'none'$/);
    expect(headers['cache-control']).toBe('private, no-store');
    expect(headers['x-content-type-options']).toBe('nosniff');
  });

  it.each(['/', PAGE, '/sign-in'])('%s refuses unknown parameters, and only reads', async (path) => {
    const unknown = await app.http.get(`${path}?asOf=2024-03-01T00:00:00Z`);
    expect([unknown.status, unknown.body.errors[0].pointer]).toEqual([422, '/asOf']);
    const put = await app.http.put(path).send({});
    expect(put.status).toBe(405);
    expect(put.headers.allow).toMatch(/^GET, HEAD(, POST)?$/);
    const options = await app.http.options(path);
    expect([options.status, options.headers.allow]).toEqual([204, `${put.headers.allow}, OPTIONS`]);
    const head = await app.http.head(path);
    expect([[200, 302].includes(head.status), head.text]).toEqual([true, undefined]);
  });

  it('answer an error as JSON to programs, and as a page to a browser', async () => {
    const path = '/projects/P1/drives/NONE';
    const { status, body } = await app.http.get(path);
    expect([status, body.type]).toEqual([404, '/docs/problems#not_found']);
    const accept = 'text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8';
    const answer = await app.http.get(path).set({ accept });
    expect([answer.status, answer.headers['content-type']]).toEqual([404, 'text/html; charset=utf-8']);
    expect(textOf(read(answer.text).querySelector('main'))).toContain('drive NONE in project P1');
    expect(await findings(answer.text)).toEqual([]);
    // in the API, only if a browser opens a document
    const api = `/v1${path}`;
    expect((await app.http.get(api).set({ accept })).headers['content-type']).toMatch(
      /^application\/problem\+json/,
    );
    const opened = await app.http.get(api).set({ accept, 'sec-fetch-dest': 'document' });
    expect([opened.status, opened.headers['content-type']]).toEqual([404, 'text/html; charset=utf-8']);
  });

  it('are refused to pages of other sites where no login is needed', async () => {
    const answer = await app.http.get(PAGE).set({ host: 'tunnel.example' });
    expect(answer.status).toBe(403);
  });
});
