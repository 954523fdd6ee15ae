import { jest } from '@jest/globals';
import { parse } from 'csv-parse/sync';
import { Workers } from '../../../src/common/work/workers.js';
import { boredDay } from '../../builders/days.js';
import { app, drive, ownDrives, toDrive, url } from '../../harness/own-drives.js';
import { hearStatements } from '../../harness/sent.js';
import { pagesOf } from '../../payment/valuations/paper.js';
import { CODES, put, rows } from '../diagrams/site.js';
import { axisOf, groupOf, readStrip, ruler, type Strip, wordsOf } from './drawn.js';

// The strip of the as-built record, read back from its SVG and PDF and compared with the views.

ownDrives('ST');

const REMARK = 'Вода в кровле, 5 л/мин';

beforeAll(async () => {
  await CODES();
  await put('/v1/projects/P1/ground-classes/A/standard-support', {
    edition: '1',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '2' }],
  });
});

/** 60 m in three days of 10, 30 and 20 m, with rising or falling chainage. */
const threeDays = async (sign: 1 | -1 = 1): Promise<void> => {
  const ends = [0, 10, 40, 60].map((m) => {
    const chainage = (sign > 0 ? 1200 : 2200) + sign * m;
    return `${Math.floor(chainage / 1000)}+${String(chainage % 1000).padStart(3, '0')}`;
  }) as [string, string, string, string];
  const first = boredDay('2024-03-01', 1, ends[0], ends[1], '10');
  first.ground = [{ groundClass: 'A', from: ends[0], to: ends[1], lithology: 'granite', remark: REMARK }];
  const second = boredDay('2024-03-02', 2, ends[1], ends[2], '30');
  second.ground = [{ groundClass: 'B', from: ends[1], to: ends[2], lithology: 'mica schist' }];
  const thrust = second.strokes[0]?.borings[0];
  if (thrust) thrust.thrustKn = 12000;
  const third = boredDay('2024-03-03', 3, ends[2], ends[3], '20');
  third.ground = [{ groundClass: 'A', from: ends[2], to: ends[3], lithology: 'granite' }];
  await put('/shifts/2024-03-01/day', first);
  await put('/shifts/2024-03-02/day', second);
  await put('/shifts/2024-03-03/day', third);
};

const svg = async (query: string): Promise<string> => {
  const { status, headers, body, text } = await app.http.get(`${url}/as-built/strip.svg?${query}`).buffer();
  expect([status, headers['content-type'], text]).toEqual([200, 'image/svg+xml; charset=utf-8', text]);
  return (body as Buffer).toString();
};

const strip = async (query: string): Promise<Strip> => readStrip(await svg(query));

const file = async (path: string): Promise<Buffer> => {
  const { status, body } = await app.http.get(`${url}/as-built/${path}`).buffer();
  expect(status).toBe(200);
  return body as Buffer;
};

const ALL = 'from=1%2B200&to=1%2B260';

interface Advance {
  low: number;
  high: number;
  advance: number;
}

const advanceOf = (): Promise<Advance[]> =>
  rows<Advance>(
    `select least(from_chainage_m, face_chainage_m)::float8 as low, greatest(from_chainage_m, face_chainage_m)::float8 as high, advance_m::float8 as advance
      from report.day_advance where drive_code = $drive order by 1`,
  );

describe('positions and values', () => {
  it.each([
    [1, ALL],
    [-1, 'from=2%2B200&to=2%2B140'],
  ] as const)('are to scale, in direction %d', async (sign, part) => {
    if (sign < 0) await toDrive(`STD`, { startChainage: '2+200', endChainage: '1+200', direction: -1 });
    await threeDays(sign);
    const drawn = await strip(`${part}&scale=1:200`);
    const { at, mmPerM } = ruler(drawn);
    expect(mmPerM).toBeCloseTo(1000 / 200, 6);
    const days = await advanceOf();
    expect(days.map(({ advance }) => advance).toSorted((a, b) => a - b)).toEqual([10, 20, 30]);
    const y = axisOf(drawn, 'advance');
    const bars = groupOf(drawn, 'track advance').boxes.toSorted((one, other) => one.left - other.left);
    expect(bars.map(({ left, right, top }) => [at(left), at(right), y(top)])).toEqual(
      days.map(({ low, high, advance }) => [
        expect.closeTo(low, 2),
        expect.closeTo(high, 2),
        expect.closeTo(advance, 1),
      ]),
    );
    expect(wordsOf(groupOf(drawn, 'track dates')).split('\n').toSorted()).toEqual([
      '2024-03-01',
      '2024-03-02',
      '2024-03-03',
    ]);
  });

  it('are those of the strokes, of lithology and of class', async () => {
    await threeDays();
    const drawn = await strip(`${ALL}&scale=1:200`);
    const { at } = ruler(drawn);
    const y = axisOf(drawn, 'thrust');
    const strokes = await rows<{ low: number; high: number; thrust: number }>(
      `select from_chainage_m::float8 as low, to_chainage_m::float8 as high, thrust_kn as thrust from report.stroke where drive_code = $drive order by 1`,
    );
    const curve = groupOf(drawn, 'track thrust').paths.find(({ width }) => width === 0.18)?.parts[0] ?? [];
    expect(curve.map(([x, value]) => [at(x), y(value)])).toEqual(
      strokes.flatMap(({ low, high, thrust }) =>
        [low, high].map((place) => [expect.closeTo(place, 2), expect.closeTo(thrust, -2)]),
      ),
    );
    expect(strokes.map(({ thrust }) => thrust)).toEqual([9000, 12000, 9000]);
    const ground = await rows<{ low: number; high: number; lithology: string; class: string }>(
      `select from_chainage_m::float8 as low, to_chainage_m::float8 as high, lithology, governing_class_code as class from report.ground_strip('P1', $drive) order by 1`,
    );
    const places = ground.map(({ low, high }) => [expect.closeTo(low, 2), expect.closeTo(high, 2)]);
    const rocks = groupOf(drawn, 'track lithology');
    const hatched = rocks.boxes.filter(({ fill }) => fill.startsWith('url'));
    expect(hatched.map(({ left, right }) => [at(left), at(right)])).toEqual(places);
    expect(hatched.map(({ fill }) => fill)).toEqual([
      'url(#hatch-plutonic)',
      'url(#hatch-schist)',
      'url(#hatch-plutonic)',
    ]);
    expect(rocks.texts.map(({ text }) => text)).toEqual(ground.map(({ lithology }) => lithology));
    expect(groupOf(drawn, 'track class').texts.map(({ text }) => text)).toEqual(
      ground.map((each) => each.class),
    );
    const legend = wordsOf(groupOf(drawn, 'legend'));
    for (const words of ['g: granite', 'ms: mica schist', 'class A', 'class B'])
      expect(legend).toContain(words);
    expect(legend).not.toContain('overbreak, geological');
  });

  it('of support: each interval with what is installed and required, and each piece at its place', async () => {
    await threeDays();
    const more = boredDay('2024-03-04', 4, '1+260', '1+270', '4');
    more.support = [
      { item: 'BOLT', zone: 'L1', from: '1+264', quantity: '3', arcPositionsDeg: ['300', '0', '60'] },
      {
        item: 'BOLT',
        zone: 'L1',
        from: '1+266',
        to: '1+268',
        quantity: '2',
        positions: ['1+266.5', '1+267.5'],
      },
    ] as typeof more.support;
    await put('/shifts/2024-03-04/day', more);
    const drawn = await strip('from=1%2B200&to=1%2B270&scale=1:200');
    const { at } = ruler(drawn);
    const required = await rows<{
      low: number;
      high: number;
      installed: string;
      required: string;
      part: string;
    }>(
      `select from_chainage_m::float8 as low, to_chainage_m::float8 as high, trim_scale(installed)::text as installed, trim_scale(required)::text as required, part
        from report.missing_support_between('P1', $drive, 1200, 1270, 5) where required > 0 and part <> 'ahead_of_face' order by 1`,
    );
    expect(required.length).toBeGreaterThan(4);
    const cells = groupOf(drawn, 'track required');
    expect(cells.texts.map(({ text }) => text)).toEqual(
      required.map((row) => `${row.installed}/${row.required}`),
    );
    const drawnAt = new Set(cells.boxes.map(({ left }) => at(left).toFixed(1)));
    for (const { low } of required) expect(drawnAt).toContain(low.toFixed(1));
    // three bolts at one place across the crown, two along a line: their discs, each a path that begins at its left edge
    const discs = groupOf(drawn, 'track support').paths.flatMap(({ parts, width }) =>
      width === 0.13 ? parts.filter((part) => part.length > 2).map(([place]) => place ?? [NaN, NaN]) : [],
    );
    const bolts = discs.map(([x]) => at(x + 0.42));
    expect(bolts).toEqual([264, 264, 264, 266.5, 267.5].map((place) => expect.closeTo(1000 + place, 1)));
    const [left, crown, right] = discs.map(([, y]) => y) as [number, number, number];
    expect(crown - left).toBeCloseTo(right - crown, 2); // 60° on either side
    expect(left).toBeLessThan(crown); // 300°, left looking ahead, is towards the top of the sheet when the drive runs to the right
    expect(wordsOf(groupOf(drawn, 'legend'))).toContain('by inspection');
  });
});

describe('sheets', () => {
  it('repeat their headings, and are the same in PDF and SVG', async () => {
    await threeDays();
    const query = `${ALL}&scale=1:100&tracks=dates,advance,lithology,class,required,support,thrust,remarks`;
    const pages = await pagesOf(await file(`strip.pdf?${query}`));
    const [one, two] = [await strip(`${query}&sheet=1`), await strip(`${query}&sheet=2`)];
    const heads = (drawn: Strip): string[] =>
      [...drawn.groups].flatMap(([name, group]) => (name.startsWith('head') ? wordsOf(group) : []));
    expect(heads(two)).toEqual(heads(one));
    expect(heads(one)).toHaveLength(8);
    // 340 mm at 1:100 are 34 m
    expect(one.title).toContain('1+200 to 1+234, sheet 1 of 2');
    expect(two.title).toContain('1+234 to 1+260, sheet 2 of 2');
    const squeezed = (text: string): string => text.replaceAll(/\s+/g, '');
    for (const [index, drawn] of [one, two].entries()) {
      const page = pages[index];
      const text = squeezed(page?.text ?? '');
      // number of sheets and time of creation differ
      const missing = drawn.texts.filter(
        (each) =>
          !text.includes(squeezed(each.text)) && !/ of \d+$|^\d{4}-\d\d-\d\d \d\d:\d\d /.test(each.text),
      );
      expect(missing).toEqual([]);
      expect(page).toMatchObject({ width: expect.closeTo(1190.55, 1) as number });
      const date = groupOf(drawn, 'track dates').texts[0];
      const piece = page?.pieces.find((each) => each.text === date?.text);
      expect(((piece?.x ?? NaN) / 72) * 25.4).toBeCloseTo(date?.x ?? NaN, 1);
      expect(297 - ((piece?.y ?? NaN) / 72) * 25.4).toBeCloseTo(date?.y ?? NaN, 1);
    }
    const numbers = pages.map(({ text }) => / (\d+) of (\d+) /.exec(text)?.slice(1).map(Number));
    expect(numbers).toEqual(pages.map((_, index) => [index + 1, pages.length]));
  });

  it('have tracks in the order requested, and no caution where none applies', async () => {
    await threeDays();
    const drawn = await strip(`${ALL}&tracks=class,dates`);
    expect([...drawn.groups.keys()].filter((name) => name.startsWith('track'))).toEqual([
      'track class',
      'track dates',
    ]);
    expect(wordsOf(drawn)).not.toContain('decision support');
    expect(wordsOf(await strip(`${ALL}&tracks=probing`))).toContain('decision support');
  });

  it('need the same number of statements at any length', async () => {
    await threeDays();
    await svg(ALL); // access of the caller is cached then
    const heard = hearStatements();
    const readings = (): string[] => heard.splice(0).filter((text) => text.includes('json_agg'));
    await svg('from=1%2B200&to=1%2B205');
    const few = readings();
    await svg('from=1%2B200&to=2%2B200');
    expect(readings()).toHaveLength(few.length);
    expect(few.length).toBeGreaterThan(10);
  });
});

describe('tables', () => {
  it('are printed from the change that the title block names: the last one, or the last at a moment', async () => {
    await threeDays();
    const [{ change, before, at } = {}] = await rows<{ change: number; before: number; at: string }>(
      `select max(number)::int as change, (max(number) - 1)::int as before, (select to_char(made_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MSZ')
        from report.change order by number desc offset 1 limit 1) as at from report.change`,
    );
    const named = async (query: string): Promise<string | undefined> =>
      /Issue: last change\n(\d+) of \d{4}-\d\d-\d\d \d\d:\d\d/.exec(
        wordsOf(groupOf(await strip(query), 'title block')),
      )?.[1];
    expect(await named(ALL)).toBe(String(change));
    expect(at).toBeDefined();
    expect(before).toBeGreaterThan(0);
    const text = (await pagesOf(await file(`strip.pdf?${ALL}`))).map((page) => page.text);
    expect(text.every((page) => page.includes(`${change} of 20`))).toBe(true);
  });

  it('are available as CSV, each by its name, where no remark runs as a formula', async () => {
    await threeDays();
    const day = boredDay('2024-03-04', 4, '1+260', '1+270', '10');
    day.ground = [{ groundClass: 'A', from: '1+260', to: '1+270', lithology: 'granite', remark: '=1+1' }];
    await put('/shifts/2024-03-04/day', day);
    const csv = async (table: string): Promise<[string | undefined, string[][]]> => {
      const { status, headers, text } = await app.http.get(
        `${url}/as-built/tables.csv?from=1%2B200&to=1%2B270&table=${table}`,
      );
      expect([status, headers['content-type']]).toEqual([200, 'text/csv; charset=utf-8; header=present']);
      const records = parse(text) as string[][];
      return [headers['content-disposition'] as string, records];
    };
    const [name, [head, ...strokes]] = await csv('strokes');
    expect(name).toBe(`attachment; filename="as-built-${drive}-strokes.csv"`);
    expect(head?.slice(0, 4)).toEqual(['stroke', 'from', 'to', 'within [m]']);
    expect(strokes.map((cells) => cells.slice(0, 4).join(' '))).toEqual(
      (
        await rows<{ line: string }>(
          `select reference || ' ' || chainage_text(from_chainage_m) || ' ' || chainage_text(to_chainage_m) || ' ' || quantity as line
            from report.as_built('P1', $drive, 1200, 1270) where record = 'stroke' order by from_m`,
        )
      ).map(({ line }) => line),
    );
    const [, [, ...remarks]] = await csv('remarks_by_number');
    expect(remarks.map((cells) => cells.at(-1))).toEqual([REMARK, "'=1+1"]);
    expect((await csv('water_tests'))[1]).toHaveLength(1);
    const { status, body } = await app.http.get(`${url}/as-built/tables.csv?${ALL}&table=rings`);
    expect([status, (body as { errors: { pointer: string }[] }).errors[0]?.pointer]).toEqual([422, '/table']);
  });

  it('print what the views contain: each stroke and its sum, support by item, remarks in any script', async () => {
    await threeDays();
    const pages = await pagesOf(await file(`strip.pdf?${ALL}`));
    const text = pages.map((page) => page.text).join(' ');
    expect(text).toContain(REMARK);
    const views = await rows<{ record: string; line: string; sum: string }>(
      `select record, chainage_text(from_chainage_m) || ' ' || chainage_text(to_chainage_m) || ' ' || quantity as line, sum(quantity) over (partition by record)::text as sum
        from report.as_built('P1', $drive, 1200, 1260) where record <> 'support'`,
    );
    expect(views).toHaveLength(6);
    for (const { line } of views) expect(text).toContain(line);
    expect([...new Set(views.map(({ sum }) => sum))]).toEqual(['60.000']);
    expect(text).toContain('sum 60.000');
    const [bolts] = await rows<{ required: string; installed: string; missing: string }>(
      `select required::text, installed::text, missing::text from report.missing_support_between('P1', $drive, 1200, 1260, null) where part = 'due' and item_code = 'BOLT'`,
    );
    expect(text).toContain(`BOLT L1 due ${bolts?.required} ${bolts?.installed} ${bolts?.missing} nr`);
  });
});

describe('a strip is refused', () => {
  it.each([
    ['tracks=class,geology', '/tracks', 'track "geology" is unknown; there are dates, advance, lithology'],
    ['tracks=class,dates,class', '/tracks', 'track class is named twice'],
    ['tracks=,,,', '/tracks', 'a name is empty'],
    ['tracks=class,', '/tracks', 'a name is empty'],
    ['tracks=', '/tracks', 'a name is empty'],
    ['scale=1:300', '/scale', 'must be one of the following values: 1:100, 1:200'],
    ['sheet=9&scale=1:100', '/sheet', 'sheet 9 does not exist: the strip has 2 sheets at scale 1:100'],
    ['sheet=0', '/sheet', 'sheet'],
  ])('%s', async (more, pointer, detail) => {
    const { status, body } = await app.http.get(`${url}/as-built/strip.svg?${ALL}&${more}`);
    expect([status, body]).toEqual([
      422,
      expect.objectContaining({
        errors: expect.arrayContaining([
          expect.objectContaining({ pointer, detail: expect.stringContaining(detail) as string }),
        ]) as unknown,
      }),
    ]);
  });

  it('with an interval of no length, outside the drive, or of more sheets than are drawn', async () => {
    await toDrive('STL', { startChainage: '0+000', endChainage: '40+000' });
    const fault = async (query: string): Promise<unknown> => {
      const { status, body } = await app.http.get(`${url}/as-built/strip.pdf?${query}`);
      return [status, (body as { errors: { pointer: string; detail: string }[] }).errors[0]];
    };
    expect(await fault('from=1%2B200&to=1%2B200')).toEqual([
      422,
      expect.objectContaining({ pointer: '/to', detail: 'from and to are the same place' }),
    ]);
    expect(await fault('from=1%2B200&to=41%2B000')).toEqual([
      422,
      expect.objectContaining({ pointer: '/to' }),
    ]);
    expect(await fault('from=0%2B000&to=40%2B000&scale=1:100')).toEqual([
      422,
      expect.objectContaining({
        pointer: '/scale',
        detail: expect.stringContaining(
          'takes 1177 sheets at scale 1:100, and at most 300 are drawn',
        ) as string,
      }),
    ]);
    expect(drive).toBe('STL');
    expect((await strip('from=0%2B000&to=40%2B000')).title).toContain('0+000 to 40+000');
  });
});

it('leaves a thread to uploads and charts, however many strips are requested', async () => {
  await threeDays();
  const workers = app.app.get(Workers);
  const run = workers.run.bind(workers);
  let [drawn, most] = [0, 0];
  const watched = jest.spyOn(workers, 'run').mockImplementation(async (job, input) => {
    drawn += 1;
    most = Math.max(most, drawn);
    try {
      return await run(job, input);
    } finally {
      drawn -= 1;
    }
  });
  await Promise.all(Array.from({ length: 4 }, () => svg(ALL)));
  expect([watched.mock.calls.length, most]).toEqual([4, 1]);
});
