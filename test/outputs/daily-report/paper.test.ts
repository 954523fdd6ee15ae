import { readFileSync } from 'node:fs';
import path from 'node:path';
import { grouped } from '../../../src/common/files/grouped.js';
import type {
  DailyReport,
  DailyShift,
} from '../../../src/features/outputs/daily-report/daily-report.models.js';
import { packageRoot } from '../../../src/common/package-root.js';
import { aShift, at } from '../../builders/shift.js';
import { app, ownDrives } from '../../harness/own-drives.js';
import { misplaced, type Page, pagesOf } from '../../payment/valuations/paper.js';
import { findings } from '../page/looked-at.js';
import { aFullDay, CODES, DAY, dayShift, paper, put, read, REPORT } from './site.js';

// The report of a day on paper and as a page, read back.

ownDrives('S');

beforeAll(CODES);

const page = async (): Promise<string> => {
  const { body, text } = await app.http.get(`${REPORT()}.html`).buffer().expect(200);
  return text ?? (body as Buffer).toString();
};

/** The text of an HTML page, unescaped. */
const readable = (html: string): string =>
  html
    .replaceAll(/<[^>]+>/g, ' ')
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&quot;', '"')
    .replaceAll('&amp;', '&');

/** Numbers without thousands separators; single blanks between words. */
const plain = (text: string): string =>
  text.replaceAll('\u202f', '').replaceAll('\u2212', '-').replaceAll(/\s+/g, ' ');

const textOf = (pages: Page[]): string => plain(pages.map(({ text }) => text).join(' '));

const short = (value: string): string => grouped(value.includes('.') ? value.replace(/\.?0+$/, '') : value);

/** Values that a reader must find for a shift, as printed. */
const valuesOf = (shift: DailyShift): string[] => [
  ...[
    shift.advanceM,
    shift.cumulativeM,
    shift.boringHours,
    shift.digest,
    shift.remark ?? 'none',
    shift.crewLead ?? '',
  ],
  ...shift.strokes.flatMap((stroke) => [
    ...[
      stroke.from,
      stroke.to,
      stroke.lengthM,
      stroke.startedClock,
      stroke.endedClock,
      String(stroke.number),
    ],
    ...[stroke.thrustKn, stroke.torqueKnm, stroke.gripperPressureBar].flatMap((value) =>
      value == null ? [] : [value.toFixed(0)],
    ),
    ...[stroke.rotationRpm].flatMap((value) => (value == null ? [] : [value.toFixed(1)])),
    ...(stroke.penetrationMmPerRev === 6.85 ? ['6.9'] : []), // half away from zero, although the nearest double of 6.85 is less
    stroke.muckMassT ?? '',
  ]),
  ...shift.stops.flatMap(({ startedClock, endedClock, code, cause, party, equipment, remark }) => [
    ...[startedClock, endedClock, code, cause, party ?? '', equipment ?? '', remark ?? ''],
  ]),
  ...shift.support.flatMap(({ zone, item, description, from, to, quantity, deliveredVolumeM3, remarks }) => [
    ...[zone, item, description, from, to, short(quantity), deliveredVolumeM3 ?? '', ...remarks],
  ]),
  ...shift.ground.flatMap(({ from, to, lengthM, groundClass, lithology, remark }) => [
    from,
    to,
    lengthM,
    groundClass,
    lithology ?? '',
    remark ?? '',
  ]),
  ...shift.groundLogs.flatMap(({ name, from, to, lithology, gsi, mappedBy }) => [
    name,
    from,
    to,
    lithology ?? '',
    short(gsi ?? ''),
    mappedBy ?? '',
  ]),
  ...shift.probeHoles.flatMap((hole) => [
    ...[
      hole.name,
      hole.drilledClock,
      hole.collar,
      hole.reach,
      short(hole.lengthM),
      short(hole.waterInflowLPerMin ?? ''),
      hole.remark ?? '',
    ],
  ]),
  ...shift.water.flatMap(({ name, measuredClock, inflowLPerMin, representativeLu }) => [
    ...[name, measuredClock, short(inflowLPerMin ?? ''), short(representativeLu ?? '')],
  ]),
  ...shift.grouting.flatMap(({ name, purpose, from, to, holeCount, massKg, remark }) => [
    ...[name, purpose.replace('_', '-'), from, to, String(holeCount), short(massKg), remark ?? ''],
  ]),
  ...shift.openItems.map(({ detail }) => detail),
];

const absent = (text: string, values: string[]): string[] => {
  const words = text.replaceAll(' ', ''); // a text may be broken between its words
  return values.filter((value) => !words.includes(plain(value).replaceAll(' ', '')));
};

it('has every figure of the report, on paper and on the page', async () => {
  await aFullDay();
  const report = await read();
  const pages = await pagesOf(await paper());
  for (const shift of report.shifts) {
    const own = pages.filter(({ text }) => text.includes(`Shift report ${DAY} ${shift.shift}`));
    expect(own).toHaveLength(1); // a page a shift
    expect(absent(textOf(own), valuesOf(shift))).toEqual([]);
    expect(absent(plain(readable(await page())), valuesOf(shift))).toEqual([]);
    for (const words of [
      'Contractor Invented joint venture',
      'Supervision / client Invented railway',
      'Signature',
      'the local code decide',
    ])
      expect(absent(textOf(own), [words])).toEqual([]);
  }
  const sums = textOf(pages.slice(report.shifts.length));
  const { advanceM, cumulativeM, boringHours, fromChainage, faceChainage, support } =
    report as Required<DailyReport>;
  const values = [
    advanceM,
    cumulativeM,
    boringHours,
    fromChainage,
    faceChainage,
    ...support.map(({ quantity }) => short(quantity)),
  ];
  expect(absent(sums, values)).toEqual([]);
  // by hand: 154 minutes of boring, 440 of planned stops
  for (const words of ['B 2:34 boring', 'P 7:20 planned stop']) expect(sums).toContain(words);
  for (const each of pages) expect(misplaced(each)).toEqual([]);
});

it('draws the time of a shift with letters and hatches, never by colour alone', async () => {
  await put(`/shifts/${DAY}/day`, dayShift());
  const [first] = await pagesOf(await paper());
  const letters = first?.pieces
    .filter(({ text, height }) => /^[A-Z]$/.test(text) && height < 6.5)
    .map(({ text }) => text);
  // by hand, the class with the most time in each quarter of an hour from 06:00 to 18:00
  expect(letters?.join('')).toBe(`PBBBBBBB${'D'.repeat(6)}WWGGGO${'P'.repeat(28)}`);
  for (const words of [
    'B boring 1:34',
    'R regripping 0:06',
    'P planned stop 7:20',
    'D breakdown 1:30',
    'W waiting 0:30',
    'G ground 0:50',
    'O outside working time 0:10',
  ])
    expect(first?.text).toContain(words);
  const html = await page();
  const label = /aria-label="(Time of the shift[^"]*)"/.exec(html)?.[1];
  expect(label).toContain('boring 1:34, regripping 0:06, planned stop 7:20, breakdown 1:30');
  const widths = [
    ...html.matchAll(/<rect x="([\d.]+)" y="16" width="([\d.]+)" height="34" fill="(?:#fff|url[^"]*)"/g),
  ].map(([, , width]) => Number(width));
  expect(widths.reduce((all, width) => all + width, 0)).toBeCloseTo(960, 1); // the whole bar
});

const LATIN = 'Plain remark, 7 bit: ~!@#$%^&*()_+{}|"<>?';
const CYRILLIC = 'Вывал породы в кровле, справа';
const CJK = '拱顶漏水 12 l/min, グラウト注入, 누수'; // Han, kana, Hangul
const HIEROGLYPH = 'sign 𓀀'; // Unicode 15: U+13000, in none of the fonts

it('prints remarks in any script, or names the code points that no font has', async () => {
  const shift = dayShift();
  shift.remark = CYRILLIC;
  shift.activities[4]!.remark = LATIN;
  shift.activities[5]!.remark = CJK;
  shift.ground[0]!.remark = HIEROGLYPH;
  await put(`/shifts/${DAY}/day`, shift);
  const report = await read();
  expect([
    report.shifts[0]?.remark,
    ...(report.shifts[0]?.stops ?? []).slice(1, 3).map(({ remark }) => remark),
  ]).toEqual([CYRILLIC, LATIN, CJK]);
  const pages = await pagesOf(await paper());
  const bare = (text: string): string => text.replaceAll(/\s/g, ''); // a line may end between any two Han characters
  const printed = bare(textOf(pages));
  expect(absent(printed, [CYRILLIC, LATIN, CJK, 'sign [U+13000]'].map(bare))).toEqual([]);
  const html = await page();
  expect(absent(plain(readable(html)), [CYRILLIC, LATIN, CJK, HIEROGLYPH])).toEqual([]);
  for (const each of pages) expect(misplaced(each)).toEqual([]);
});

it('continues over pages with its headings when a shift has 60 strokes and 200 activities', async () => {
  const clock = (minute: number): string =>
    `${String(6 + Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
  const long = aShift(DAY).submitted();
  for (let number = 1; number <= 60; number += 1) {
    const [from, to] = [1200 + (number - 1) / 10, 1200 + number / 10].map(
      (m) => `1+${(m - 1000).toFixed(3)}`,
    );
    const start = (number - 1) * 11;
    long
      .withStroke(number, from!, to!, clock(start), clock(start + 4), { thrustKn: 9000 })
      .withActivity('BORE', clock(start), clock(start + 4))
      .withActivity('FAIL', clock(start + 4), clock(start + 7));
    long
      .withActivity('WAIT', clock(start + 7), clock(start + 9))
      .withActivity('REGRIP', clock(start + 9), clock(start + 11));
  }
  // 240 activities until 17:00, and one more
  const document = { ...long.withActivity('MAINT', '17:00', '18:00').build(), remark: 'Many.' };
  for (const [index, activity] of document.activities.entries())
    activity.remark = `remark of activity ${index}`;
  await put(`/shifts/${DAY}/day`, document);
  const pages = await pagesOf(await paper());
  const own = pages.filter(({ text }) => text.includes(`Shift report ${DAY} day`));
  expect(own.length).toBeGreaterThan(2);
  for (const [index, each] of own.entries()) {
    expect(misplaced(each)).toEqual([]);
    expect(each.text).toContain(
      index === 0 ? `Shift report ${DAY} day` : `Shift report ${DAY} day (continued)`,
    );
    expect(each.text).toContain(`Page ${index + 1} of ${pages.length}`);
    if (each.text.includes('remark of activity')) expect(each.text).toContain('Cause and remark');
    if (/\b1\+20\d\.\d00 1\+20\d/.test(each.text)) expect(each.text).toContain('Thrust [kN]');
  }
  const [shift] = (await read()).shifts;
  expect([shift?.strokes.length, shift?.stops.length]).toEqual([60, 121]);
  expect(absent(textOf(own), valuesOf(shift!))).toEqual([]);
  const starts = textOf(own).match(/remark of activity \d+/g) ?? [];
  expect(new Set(starts).size).toBe(121); // each stop once
  expect(starts).toHaveLength(121);
});

it('is a page in which axe-core finds no fault', async () => {
  await aFullDay();
  expect(await findings(await page())).toEqual([]);
});

it('escapes what people wrote, and can be saved as a separate file', async () => {
  const hostile = `</p><script>alert('1')</script>"&`;
  await put(`/shifts/${DAY}/day`, { ...dayShift(), remark: hostile });
  const html = await page();
  expect(html).not.toContain('<script');
  expect(plain(readable(html))).toContain(plain(hostile));
  const { headers } = await app.http.get(`${REPORT()}.html`);
  expect(headers['content-security-policy']).toContain("default-src 'none'");
  for (const name of ['page.css', 'report.css'])
    expect(readFileSync(path.join(packageRoot, 'src/assets', name), 'utf8')).not.toMatch(/[<&"]/); // would be escaped in a file
});

it('has no sheet for a shift that starts on another day', async () => {
  await put(`/shifts/${DAY}/day`, dayShift());
  const next = aShift('2024-03-02').submitted().withActivity('MAINT', '06:00', '18:00').build();
  await put('/shifts/2024-03-02/day', next);
  const pages = await pagesOf(await paper('2024-03-02'));
  expect(textOf(pages)).not.toContain(`Shift report ${DAY}`);
  expect(pages).toHaveLength(2);
  expect(at(DAY, '06:00')).toBe(`${DAY}T06:00:00.000Z`);
});
