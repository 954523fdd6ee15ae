import { stereonet } from '../../../src/features/ground/discontinuities/stereonet.js';
import { svgCut, svgText } from '../../../src/common/svg-text.js';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { xmlFault } from './xml.js';

// The drawing: centre 300, 360, radius 220; positions of the marks worked by hand.

let app: TestApp;
const url = '/v1/projects/P1/drives/N';

const NASTY = `<script>alert("1")</script> & 'J1'`;
const REMARK = `"quoted" <b>&amp; \u{1F9F1} ]]>`;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const joint = (
    name: string,
    chainage: string,
    dipDeg: string,
    dipDirectionDeg: string,
    more: object = {},
  ) => ({
    name,
    chainage,
    type: 'joint',
    dipDeg,
    dipDirectionDeg,
    ...more,
  });
  const { status, text } = await app.http.post(`${url}/discontinuities`).send({
    discontinuities: [
      joint('FLAT', '1+201', '0', '0', { set: 'S0' }),
      joint('STEEP', '1+202', '90', '90', { set: NASTY, remark: REMARK }),
      joint('MIDDLE', '1+203', '45', '180', { set: 'J2' }),
      joint('LONE', '1+204', '90', '180'),
    ],
  });
  if (status !== 200) throw new Error(text);
});

afterAll(() => app.close());

const net = async (query = '') => {
  const answer = await app.http.get(`${url}/stereonet.svg${query}`).buffer();
  return { ...answer, svg: String(answer.body), type: answer.headers['content-type'] as string };
};

/** Position of a pole's mark, by its name. */
const placeOf = (svg: string, name: string): number[] => {
  const found = new RegExp(`translate\\(([\\d.]+) ([\\d.]+)\\) scale\\(4\\)"><title>${name} `).exec(svg);
  return (found ?? []).slice(1).map(Number);
};

describe('the net', () => {
  it('is well-formed SVG, with its title, its count and its description', async () => {
    const { status, svg, type } = await net();
    expect([status, type]).toEqual([200, 'image/svg+xml; charset=utf-8']);
    expect(xmlFault(svg)).toBeUndefined();
    for (const words of [
      'Discontinuities, drive N',
      '1+200.000 to 2+200.000',
      'Project P1. 4 poles',
      ', last change ',
      'Drawn from report.discontinuity_row, report.discontinuity_set.',
      'equal area, lower hemisphere',
      'designer and the local code decide',
      '>N</text>',
    ])
      expect(svg).toContain(words);
    expect(svg).not.toContain('axis of the drive');
  });

  it('has each pole at its place', async () => {
    const { svg } = await net();
    expect(placeOf(svg, 'FLAT')).toEqual([300, 360]);
    // dips to the east: pole level to the west
    expect(placeOf(svg, 'STEEP')).toEqual([80, 360]);
    // dips to the south: pole to the north, at 220 · 0.541196 = 119.06
    expect(placeOf(svg, 'MIDDLE')).toEqual([300, 240.94]);
    expect(placeOf(svg, 'LONE')).toEqual([300, 140]);
  });

  it('shows texts of the record as text, never as markup', async () => {
    const { svg } = await net();
    expect(svg).not.toContain('<script');
    expect(svg).toContain('&lt;script&gt;');
    expect(svg).toContain(
      'STEEP at 1+202.000: 90/090, &quot;quoted&quot; &lt;b&gt;&amp;amp; \u{1F9F1} ]]&gt;',
    );
  });

  it('has a row for each set with its mean and a curve for it, and a row for those of no set', async () => {
    const { svg } = await net();
    for (const words of [
      '>S0</text>',
      '>00/000</text>',
      '>45/180</text>',
      '>90/090</text>',
      '>no set</text>',
    ])
      expect(svg).toContain(words);
    expect(svg.match(/stroke-width="2" fill="none"/g)).toHaveLength(3);
  });

  it('gives each set its own colour and mark', async () => {
    const { svg } = await net();
    const marks = [...svg.matchAll(/<g fill="(#\w+)" fill-opacity="0.8"[^>]*><use href="#(net-mark-\d)"/g)];
    expect(new Set(marks.map(([, colour]) => colour)).size).toBe(3);
    expect(new Set(marks.map(([, , outline]) => outline)).size).toBe(3);
  });

  it('shows the axis where it is given, and can show part of the drive', async () => {
    const { svg } = await net('?axisDeg=90&from=1+202&to=1+203');
    expect(svg).toContain('axis of the drive, 090°');
    expect(svg).toContain('M80 360L520 360');
    expect(svg).toContain('Project P1. 1 pole<');
    expect(placeOf(svg, 'STEEP')).toEqual([80, 360]);
    expect(placeOf(svg, 'MIDDLE')).toEqual([]);
    expect((await net('?axisDeg=360')).svg).toContain('axis of the drive, 000°');
  });

  it('is empty where nothing was mapped', async () => {
    const { svg } = await net('?from=1+900');
    expect(xmlFault(svg)).toBeUndefined();
    expect(svg).toContain('0 poles');
  });

  it('is refused where it would be unreadable', async () => {
    await app.sql(
      `insert into discontinuity (drive_id, project_id, name, at_m, type, dip_deg, dip_direction_deg, pole_east, pole_north, pole_down)
       select id, project_id, 'M' || i, 900, 'joint', 0, 0, 0, 0, 1 from drive cross join generate_series(1, 5001) i where code = 'N'`,
    );
    const { status, body } = await app.http.get(`${url}/stereonet.svg?from=2+000`);
    expect([status, body.detail]).toEqual([
      422,
      'from 2+000.000 to 2+200.000 there are more than 5000 discontinuities: ask for a shorter part',
    ]);
    expect((await net('?to=2+000')).status).toBe(200);
  });

  it('tells forty sets apart, with codes and labels of any length', () => {
    const sets = Array.from({ length: 40 }, (_, n) => ({
      figures: {
        set: `${'set '.repeat(9)}${n}`,
        count: 1,
        eigenvalue1: 1,
        eigenvalue2: 0,
        eigenvalue3: 0,
        spacingCount: 0,
        persistenceCount: 0,
        apertureCount: 0,
        seepingCount: 0,
      },
      meanPole: null,
    }));
    const svg = stereonet({
      moment: '2024-05-01 (Europe/Zurich), last change 1 of 2024-04-30 12:00',
      project: 'P'.repeat(40),
      drive: 'D'.repeat(40),
      window: { from: '0+000.000', to: '1+000.000' },
      poles: [],
      sets,
    });
    expect(xmlFault(svg)).toBeUndefined();
    const legend = [
      ...svg.matchAll(
        /<g fill="(#\w+)" fill-opacity="0.8"[^>]*><use href="#(net-mark-\d)" transform="translate\(36 /g,
      ),
    ];
    expect(new Set(legend.map(([, colour, outline]) => `${colour}${outline}`)).size).toBe(40);
  });
});

describe('text in SVG', () => {
  it('is escaped, and without what XML cannot hold', () => {
    expect(svgText(`<a href="x">&'`)).toBe('&lt;a href=&quot;x&quot;&gt;&amp;&#39;');
    expect(svgText('a\u0000b\uFFFEc\uD800d')).toBe('a\uFFFDb\uFFFDc\uFFFDd');
  });

  it('is cut before it is escaped, between characters', () => {
    expect(svgCut('a<bc', 3)).toBe('a&lt;…');
    expect(svgCut('\u{1F9F1}\u{1F9F1}\u{1F9F1}', 2)).toBe('\u{1F9F1}…');
    expect(svgCut('abc', 3)).toBe('abc');
  });
});
