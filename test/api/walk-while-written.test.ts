import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';

// A list is read page by page while others write: entries that stay are met exactly once, even if the entries at the ends of pages are removed.
// With a list along the drive and one by time, each ordered by place and name.

const D = '/v1/projects/P1/drives/N';

interface Kind {
  list: string;
  /** An entry at a position in the order, from 0 on. */
  at(place: number): object;
}

const OVERBREAK: Kind = {
  list: 'overbreak',
  at: (place) => ({
    from: String(1200 + place),
    to: String(1200.5 + place),
    cause: 'geological',
    areaM2: '1',
  }),
};

const INFLOW: Kind = {
  list: 'inflow-measurements',
  at: (place) => ({
    place: 'interval',
    from: '1+200',
    to: '1+210',
    method: 'weir',
    flowLPerMin: '1',
    measuredAt: new Date(Date.UTC(2026, 2, 1, 0, place)).toISOString(),
  }),
};

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

describe.each([OVERBREAK, INFLOW])('$list', ({ list, at }) => {
  const put = async (name: string, place: number): Promise<void> => {
    const { status, text } = await app.http.put(`${D}/${list}/${name}`).send(at(place));
    expect([text, status < 300]).toEqual([text, true]);
  };
  const remove = async (name: string): Promise<void> => {
    expect((await app.http.delete(`${D}/${list}/${name}`)).status).toBe(204);
  };

  it('is paged completely: entries removed, moved and added behind and ahead lose and repeat none', async () => {
    for (let place = 0; place < 24; place += 2) await put(`S${place}`, place);
    for (const place of [1, 7, 13]) await put(`M${place}`, place);
    const met: string[] = [];
    let next: string | undefined;
    for (let page = 0; page < 30; page += 1) {
      const address = `${D}/${list}?first=2${next === undefined ? '' : `&after=${encodeURIComponent(next)}`}`;
      const { status, body } = await app.http.get(address);
      expect([address, status]).toEqual([address, 200]);
      met.push(...(body.items as { name: string }[]).map(({ name }) => name));
      if (body.next == null) break;
      next = String(body.next);
      const last = met.at(-1) ?? '';
      if (last === 'M1') await remove('M1'); // what the page ended with has gone
      if (last === 'M7') await put('M7', 3); // or is behind
      if (page === 4) await put('NEW', 5); // behind: not met
      if (page === 5) await put('AHEAD', 21);
    }
    const standing = met.filter((name) => name.startsWith('S'));
    expect(standing).toEqual(Array.from({ length: 12 }, (_, index) => `S${index * 2}`));
    expect(new Set(met).size).toBe(met.length);
    expect(met).toContain('AHEAD');
    expect(met).toContain('M1');
    expect(met).not.toContain('NEW');
  });

  it('refuses a cursor that is not its own', async () => {
    for (const after of ['S2', '~S2', '1~', 'x~S2', '1.0~S 2', `${'9'.repeat(12)}~S2`]) {
      const { status, body } = await app.http.get(`${D}/${list}?after=${encodeURIComponent(after)}`);
      expect([after, status, body.errors?.[0]?.pointer]).toEqual([after, 422, '/after']);
    }
  });
});
