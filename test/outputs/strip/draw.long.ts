import { TextWidths } from '../../../src/common/charts/fonts.js';
import { sharedText } from '../../../src/common/work/shared-text.js';
import { stripPdf, stripSvg } from '../../../src/features/outputs/strip/draw-strip.js';
import type {
  Ground,
  Log,
  Required,
  Stroke,
  StripInput,
  StripRows,
} from '../../../src/features/outputs/strip/strip-data.js';
import { pagesOf } from '../../payment/valuations/paper.js';
import { axisOf, groupOf, readStrip, ruler, type Strip, wordsOf } from './drawn.js';

// Strips of rows invented here.

const input = (rows: Partial<StripRows>, more: Partial<StripInput> = {}): StripInput => ({
  head: {
    ...{ project: 'P', projectName: 'Trial & <error>', drive: 'N', direction: 1, boredDiameterM: '7' },
    ...{
      faceM: 20_000,
      face: '20+000',
      asOf: '2024-03-01 12:00 (UTC)',
      lastChange: '17 of 2024-03-01 11:58',
      changedAt: '2024-03-01T11:58:00Z',
      hash: 'ab12'.repeat(16),
      made: '2024-03-01',
      madeBy: 'me',
    },
  },
  ...{ from: '0+000.000', to: '20+000.000', lowM: 0, highM: 20_000, denominator: 5000, tracks: ['thrust'] },
  texts: Object.fromEntries(
    Object.entries(rows).map(([name, list]) => [name, [sharedText(JSON.stringify(list))]]),
  ),
  ...more,
});

/** 20 km in strokes of 1.5 m, with equal thrust except for a few. */
const STROKES: Stroke[] = Array.from({ length: 13_333 }, (_, index) => ({
  ...{ number: index + 1, fromM: index * 1.5, toM: (index + 1) * 1.5, penetration: 5, torqueRatio: 1 },
  thrust: index === 7001 ? 17_500 : index === 9003 ? 1200 : index === 5005 ? null : 9000 + (index % 7),
}));

describe('20 km at 1:5000', () => {
  const drawn = readStrip(stripSvg(input({ strokes: STROKES })));
  const { at, mmPerM } = ruler(drawn);
  const curves = groupOf(drawn, 'track thrust').paths.filter(({ width }) => width === 0.18);
  const points = curves.flatMap(({ parts }) => parts.flat());

  it('is drawn to scale, 4 m long', () => {
    expect(mmPerM).toBeCloseTo(0.2, 6);
    expect(at(points.at(-1)?.[0] ?? NaN)).toBeCloseTo(13_333 * 1.5, 0);
  });

  it('keeps the maximum and the minimum stroke at their places, and the gap', () => {
    const y = axisOf(drawn, 'thrust');
    const values = points.map(([x, value]) => ({ at: at(x), value: y(value) }));
    const most = values.reduce((one, other) => (other.value > one.value ? other : one));
    const least = values.reduce((one, other) => (other.value < one.value ? other : one));
    expect(most).toEqual({
      at: expect.closeTo(7001.5 * 1.5, -0.5) as number,
      value: expect.closeTo(17_500, -2) as number,
    });
    expect(least).toEqual({
      at: expect.closeTo(9003.5 * 1.5, -0.5) as number,
      value: expect.closeTo(1200, -2) as number,
    });
    expect(curves).toHaveLength(2); // interrupted at the stroke without a value
  });

  it('has fewer points than strokes: at most four per column of 0.15 mm, where a single stroke has two', () => {
    expect(points.length).toBeLessThan(2 * STROKES.length);
    expect(points.length).toBeLessThanOrEqual((4 * 4000) / 0.15);
  });

  it('escapes what is text', () => {
    expect(wordsOf(groupOf(drawn, 'title block'))).toContain('Trial & <error>');
  });
});

const piece = (place: number, lithology: string, groundClass: string): Ground => ({
  ...{ fromM: place * 100, toM: (place + 1) * 100, lithology, noted: groundClass, groundClass, place },
  ...{ contested: null, contestedState: null },
});

describe('the look of a strip', () => {
  const classes = ['A', 'B', 'C', 'D', 'E', 'F', 'G'];
  const rocks = ['granite', 'grey gneiss', 'green gneiss', 'limestone', 'ours', 'theirs', 'fault gouge'];
  const ground = classes.map((each, index) => piece(index, rocks[index] ?? '', each));
  const drawn = readStrip(
    stripSvg(
      input({ ground }, { ...{ tracks: ['lithology', 'class'], highM: 700, to: '0+700', denominator: 500 } }),
    ),
  );

  it('shows classes without colour: its own hatch and letter for each', () => {
    const { boxes, texts } = groupOf(drawn, 'track class');
    const hatches = boxes.filter(({ fill }) => fill.startsWith('url')).map(({ fill }) => fill);
    expect(new Set(hatches).size).toBe(6); // the first has none
    expect([...new Set(texts.map(({ text }) => text))]).toEqual(classes);
    for (const fill of hatches) expect(drawn.hatches.has(/#(.*)\)/.exec(fill)?.[1] ?? '')).toBe(true);
  });

  it('distinguishes rocks with the same hatch by name, and by letters in the legend', () => {
    const legend = wordsOf(groupOf(drawn, 'legend'));
    for (const words of ['gg: green gneiss', 'gg2: grey gneiss', 'fg: fault gouge', 'o: ours', 't: theirs'])
      expect(legend).toContain(words);
    expect(new Set(drawn.hatches.values()).size).toBe(drawn.hatches.size);
  });

  it('shows letters in a section too narrow for its name, and a star in a contested one', () => {
    const narrow = [
      { ...piece(0, 'banded gneiss with lenses of amphibolite', 'A'), toM: 3 },
      {
        ...piece(0, 'granite', 'B'),
        fromM: 3,
        toM: 100,
        noted: 'A',
        contested: 'C',
        contestedState: 'disputed',
      },
    ];
    const at = (highM: number): Strip =>
      readStrip(
        stripSvg(input({ ground: narrow }, { tracks: ['lithology', 'class'], highM, denominator: 1000 })),
      );
    const [small, smaller] = [at(100), at(6)];
    expect(wordsOf(groupOf(small, 'track lithology'))).toBe('bgw\ngranite');
    expect(wordsOf(groupOf(small, 'track class'))).toBe('A\nB (noted A, disputed C)');
    expect(wordsOf(groupOf(smaller, 'track class'))).toBe('A\nB*');
    const star = '*: noted differently, or decision not agreed';
    expect(wordsOf(groupOf(smaller, 'legend'))).toContain(star);
    expect(wordsOf(groupOf(small, 'legend'))).not.toContain(star); // the legend only explains what is on the sheet
  });
});

const REQUIRED: Required = {
  ...{ from: '0+000.000', to: '0+010.000', item: 'MESH', zone: 'L1', unit: 'm2', part: 'due' },
  ...{ required: '10', installed: '9', missing: '1', missingLocal: '1', state: 'missing' },
};

it('distinguishes states of required support without colour, with the unit of each item', () => {
  const states = ['missing', 'within_tolerance', 'complete', 'not_yet_due'];
  const required = states.map((state, place): Required => ({
    ...{ ...REQUIRED, state, from: `0+0${place}0.000`, to: `0+0${place + 1}0.000` },
  }));
  const halved = { ...REQUIRED, part: 'not_yet_due', state: 'not_yet_due' };
  const drawn = readStrip(
    stripSvg(
      input({ required: [...required, halved] }, { tracks: ['required'], highM: 40, denominator: 200 }),
    ),
  );
  const { boxes } = groupOf(drawn, 'track required');
  const hatches = boxes.map(({ fill }) => fill).filter((fill) => fill.startsWith('url'));
  expect(new Set(hatches).size).toBe(3); // complete intervals have none
  expect(wordsOf(groupOf(drawn, 'head required'))).toContain('MESH L1 [m²]');
  expect(wordsOf(groupOf(drawn, 'legend'))).toContain('above: due; below: not yet due');
});

it('labels each of many adjacent probe holes, without overlaps', () => {
  const names = Array.from({ length: 9 }, (_, place) => `P-${place + 1}`);
  const holes = names.map((name) => ({
    ...{ name, fromM: 0, toM: 30, position: 0, lookOut: 5, water: null, givesCover: true, state: 'drilled' },
  }));
  const drawn = readStrip(stripSvg(input({ holes }, { tracks: ['probing'], highM: 40, denominator: 200 })));
  const { texts } = groupOf(drawn, 'track probing');
  expect(texts.map(({ text }) => text)).toEqual(names);
  const heights = texts.map(({ y }) => y).toSorted((one, other) => one - other);
  const apart = heights.slice(1).map((y, place) => y - (heights[place] ?? 0));
  expect(Math.min(...apart)).toBeGreaterThan(Math.max(...texts.map(({ size }) => size)));
});

it('draws nothing in a track without records, and says so', () => {
  const drawn = readStrip(stripSvg(input({}, { tracks: ['rmr'], highM: 40, denominator: 200 })));
  expect(wordsOf(groupOf(drawn, 'track rmr'))).toBe('nothing recorded in the interval');
  expect(groupOf(drawn, 'track rmr').paths).toEqual([]);
});

it('draws logs at their values, Q by powers of ten, and separates the values of logs at one place', () => {
  const log = (name: string, q: number, rmr: number, gsi: string): Log => ({
    ...{
      fromM: 0,
      toM: 40,
      name,
      q,
      qClass: 'poor',
      qLowest: q / 10,
      qHighest: q * 10,
      rmr,
      rmrClass: 'III',
      gsi,
    },
    ...{ waterState: 'damp', inflow: null },
  });
  const drawn = readStrip(
    stripSvg(
      input(
        { logs: [log('L1', 1, 50, '45.0'), log('L2', 1.23456, 51, '46.5')] },
        { ...{ tracks: ['q', 'rmr', 'gsi'], highM: 100, denominator: 500 } },
      ),
    ),
  );
  const words = (track: string): string => wordsOf(groupOf(drawn, `track ${track}`));
  expect([words('q'), words('rmr'), words('gsi')]).toEqual([
    '1 poor\n1.23 poor',
    '50 III\n51 III',
    '45\n46.5',
  ]);
  const heads = groupOf(drawn, 'head q').texts.filter(({ anchor }) => anchor === 'end');
  expect(heads.map(({ text }) => text)).toEqual(['0.001', '0.1', '10', '1000']);
  const levels = groupOf(drawn, 'track q')
    .paths.find(({ width }) => width === 0.1)
    ?.parts.map(([[, y] = [0, 0]]) => y);
  const level = groupOf(drawn, 'track q').paths.find(({ width }) => width === 0.45)?.parts[0]?.[0]?.[1];
  expect(level).toBeCloseTo(((levels?.[1] ?? 0) + (levels?.[2] ?? 0)) / 2, 2); // 1 is midway from 0.1 to 10
  const y = axisOf(drawn, 'rmr');
  expect(
    y(groupOf(drawn, 'track rmr').paths.find(({ width }) => width === 0.45)?.parts[0]?.[0]?.[1] ?? NaN),
  ).toBeCloseTo(50, 1);
  const texts = groupOf(drawn, 'track rmr').texts.map(({ x, y: height }) =>
    [Math.round(x), Math.round(height)].join(),
  );
  expect(new Set(texts).size).toBe(2);
});

it('prints no rating over a bar, whether of its log, its range or a neighbour', () => {
  const log = (place: number, q: number): Log => ({
    ...{
      fromM: place * 20,
      toM: place * 20 + 20,
      name: `L${place}`,
      q,
      qClass: 'very poor',
      rmr: 44 + 3 * place,
    },
    ...{
      qLowest: q / 2,
      qHighest: q * 4,
      rmrClass: 'III (fair)',
      gsi: String(40 + place),
      waterState: null,
      inflow: null,
    },
  });
  const logs = [log(0, 0.586666666667), log(1, 0.61), log(2, 0.9), log(3, 4.4), log(4, 0.2)];
  const drawn = readStrip(
    stripSvg(
      input({ logs }, { ...{ tracks: ['q', 'rmr', 'gsi'], highM: 100, to: '0+100', denominator: 500 } }),
    ),
  );
  expect(wordsOf(groupOf(drawn, 'track q'))).toContain('0.587 very poor');
  const widths = new TextWidths();
  for (const name of ['q', 'rmr', 'gsi']) {
    const { texts, paths, boxes } = groupOf(drawn, `track ${name}`);
    // on white, so that lines of the axis do not cross it, and clear of the end of the strip: 100 m from the headers at 20 + 44 mm
    for (const { text, x, y, size } of texts) {
      const right = x + widths.of(text, size);
      expect(right).toBeLessThan(64 + 200 - 0.5);
      expect(
        boxes.some(
          (box) =>
            box.fill === '#ffffff' &&
            box.left <= x + 0.01 &&
            box.right >= right - 0.01 &&
            box.top <= y - 0.76 * size &&
            box.bottom >= y + 0.24 * size,
        ),
      ).toBe(true);
    }
    const bars = paths.filter(({ width }) => width >= 0.2);
    expect(texts.length).toBeGreaterThan(2);
    expect(bars.flatMap(({ parts }) => parts).length).toBeGreaterThanOrEqual(15);
    // ascenders and descenders of DejaVu Sans: 0.76 and 0.24 of the size
    const over = texts.flatMap(({ text, x, y, size }) =>
      bars.flatMap(({ parts, width }) =>
        parts
          .filter((part) => {
            const [xs, ys] = [part.map(([at]) => at), part.map(([, at]) => at)];
            return (
              Math.max(...xs) > x &&
              Math.min(...xs) < x + widths.of(text, size) &&
              Math.max(...ys) + width / 2 > y - 0.76 * size &&
              Math.min(...ys) - width / 2 < y + 0.24 * size
            );
          })
          .map(() => text),
      ),
    );
    expect(over).toEqual([]);
  }
});

it('names in the title block the change of the record that it is drawn from', () => {
  const block = wordsOf(groupOf(readStrip(stripSvg(input({}))), 'title block'));
  expect(block).toContain('Record as of\n2024-03-01 12:00 (UTC)\nIssue: last change\n17 of 2024-03-01 11:58');
});

it.each([
  [1, 5000, 'not driven; face F'],
  [1, 6500, 'face F; not driven'],
  [1, 8000, undefined],
  [-1, 8000, 'not driven; face F'],
  [-1, 5000, undefined],
] as const)(
  'says for 6 to 7 km, driven in direction %d with the face at %d m: %s',
  (direction, faceM, words) => {
    const { head } = input({});
    const part = { lowM: 6000, highM: 7000, head: { ...head, direction, faceM, face: 'F' } };
    const texts = readStrip(stripSvg(input({}, part))).texts.map(({ text }) => text);
    expect(texts.find((text) => text.includes('not driven'))).toBe(words);
  },
);

it('nothing lies outside the frame, and a table continues with its title and headings', async () => {
  const entries = Array.from({ length: 150 }, (_, index) => ({
    ...{ record: 'ground', from: `0+${index}`, to: `0+${index + 1}`, fromM: index, toM: index + 1 },
    ...{
      reference: 'A',
      description: 'granite',
      state: null,
      quantity: '1.000',
      unit: 'm',
      zone: null,
      shift: 's',
    },
    ...{ by: null, at: null, remark: null, arc: null, thickness: null, torqueRatio: null },
    ...{ isListed: true, count: 400, sum: '400.000' },
  }));
  const pdf = await stripPdf(
    input({ entries }, { ...{ tracks: ['remarks'], highM: 400, to: '0+400', denominator: 500 } }),
  );
  const pages = await pagesOf(Buffer.from(pdf));
  expect(pages.length).toBe(6); // three sheets of 170 m; 150 rows
  const tables = pages.slice(3).map(({ text }) => text);
  expect(tables[0]).toContain('Ground as noted by the shifts');
  for (const text of tables.slice(1)) expect(text).toContain('Ground as noted by the shifts, continued');
  for (const text of tables) expect(text).toContain('within [m]');
  expect(tables.at(-1)).toContain('250 more of 400 rows');
  expect(tables.at(-1)).toContain('sum 400.000');
  const outside = pages.flatMap(({ pieces, width, height }) =>
    pieces.filter(
      (each) => each.x < 56 || each.x + each.width > width - 28 || each.y < 28 || each.y > height - 28,
    ),
  );
  expect(outside).toEqual([]);
});

it('prints a remark in Han, kana and Hangul whole, over several lines, at its true width', async () => {
  const remark = '掌子面右侧涌水，已停机并注浆处理。'.repeat(4) + 'グラウト注入後は漏水なし 누수 없음';
  const entry = {
    ...{ record: 'ground', from: '0+001', to: '0+002', fromM: 1, toM: 2, reference: 'A', description: null },
    ...{ state: null, quantity: '1.000', unit: 'm', zone: null, shift: 's', by: null, at: null, remark },
    ...{ arc: null, thickness: null, torqueRatio: null, isListed: true, count: 1, sum: '1.000' },
  };
  const pdf = await stripPdf(
    input({ entries: [entry] }, { tracks: ['remarks'], highM: 100, to: '0+100', denominator: 500 }),
  );
  const pages = await pagesOf(Buffer.from(pdf));
  const text = pages
    .map((page) => page.text)
    .join('')
    .replaceAll(/\s/g, '');
  expect(text).toContain(remark.replaceAll(' ', ''));
  for (const { pieces, width } of pages)
    for (const piece of pieces) expect(piece.x + piece.width).toBeLessThan(width - 28);
});
