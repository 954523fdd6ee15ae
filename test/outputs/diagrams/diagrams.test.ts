import { jest } from '@jest/globals';
import { Workers } from '../../../src/common/work/workers.js';
import { app, drive, ownDrives, url } from '../../harness/own-drives.js';
import {
  across,
  boxesOf,
  chainage,
  date,
  lineOf,
  number,
  placeOf,
  readDrawing,
  upward,
  wordsOf,
} from './drawn.js';
import { aPlan, aWeek, CODES, drawing, drawn, put, rows } from './site.js';

// Diagrams, read back from their SVG using the ticks on their axes, against the views they name.

ownDrives('DG');

beforeAll(CODES);

const HOUR = 3_600_000;

describe('the list', () => {
  it('names each diagram with its content, parameters and source, and its addresses answer', async () => {
    const { status, body } = await app.http.get(`${url}/diagrams`);
    expect(status).toBe(200);
    const list = body as {
      name: string;
      extent: string;
      takes: string[];
      views: string[];
      svg: string;
      png: string;
    }[];
    expect(list.map(({ name }) => name)).toEqual(
      expect.arrayContaining(['time-chainage', 'advance', 'lost-time', 'stereonet', 'probe-fan']),
    );
    expect(list[0]).toMatchObject({ extent: 'days', takes: ['baseline', 'programme', 'width', 'height'] });
    const known = await app.sql<{ name: string }>(
      `select c.relname as name from pg_class c where c.relnamespace = 'report'::regnamespace
        union select p.proname from pg_proc p where p.pronamespace = 'report'::regnamespace`,
    );
    const names = known.map(({ name }) => `report.${name}`);
    for (const { views, svg } of list) {
      expect(names).toEqual(expect.arrayContaining(views));
      const { body: picture } = await app.http.get(svg).buffer().expect(200);
      readDrawing((picture as Buffer).toString()); // an empty record can be drawn too
    }
  });

  it('says that there is nothing to draw for an empty record', async () => {
    expect(wordsOf(await drawn('advance'))).toContain('Nothing is recorded in this period.');
    expect(wordsOf(await drawn('lost-time'))).toContain('No lost time is recorded in this period.');
    expect(wordsOf(await drawn('time-chainage'))).toContain(
      'Neither advance nor a programme is recorded in this period.',
    );
  });
});

describe('every diagram', () => {
  it('shows title, drive, period, moment with time zone, source, and the units of the axes', async () => {
    await aWeek();
    const words = wordsOf(await drawn('advance'));
    expect(words).toContain('Daily and cumulative advance');
    expect(words).toContain(`Drive ${drive}, project P1; production days 2024-03-01 to 2024-03-05.`);
    expect(words).toMatch(
      /As of \d{4}-\d\d-\d\d \(UTC\), last change \d+ of \d{4}-\d\d-\d\d \d\d:\d\d\. Drawn from report\.day_advance_trend\./,
    );
    expect(words).toContain('[m/d]');
  });

  it('shows the record as of a moment, which it names', async () => {
    await aWeek();
    const moment = new Date().toISOString();
    await put('/shifts/2024-03-06/day', {
      state: 'draft',
      strokes: [],
      activities: [],
      support: [],
      ground: [],
    });
    expect(wordsOf(await drawn('advance'))).toContain('2024-03-01 to 2024-03-06');
    const before = wordsOf(await drawn('advance', `?asOf=${moment}`));
    expect(before).toContain('2024-03-01 to 2024-03-05');
    expect(before).toContain(`As of ${moment.slice(0, 16).replace('T', ' ')} (UTC)`);
  });

  it('is the same, byte for byte, as of the same moment', async () => {
    await aWeek();
    const query = `?asOf=${new Date().toISOString()}`;
    const [one, other] = [await drawing('advance', query), await drawing('advance', query)];
    expect(other).toBe(one);
  });

  it('has the size requested, and stays within it', async () => {
    await aWeek();
    const picture = await drawn('advance', '?width=700&height=500');
    expect([picture.width, picture.height]).toEqual([700, 500]);
    for (const { x, y } of picture.texts) expect([x > 0 && x < 700, y > 0 && y < 500]).toEqual([true, true]);
  });

  it('shows text of any script, and characters of XML markup, unchanged', async () => {
    await put('/v1/projects/P1/activity-codes/FAIL', {
      description: 'Förderband <1> & "вал" 断层',
      countsAs: 'breakdown',
    });
    await aWeek();
    expect(wordsOf(await drawn('lost-time'))).toContain('FAIL Förderband <1> & "вал" 断层');
    await CODES();
  });
});

describe('advance', () => {
  it('draws each day of day_advance_trend at its height, and the sum at the end of the day', async () => {
    await aWeek();
    const picture = await drawn('advance');
    const days = await rows<{ day: string; advance: number; cumulative: number }>(
      `select production_day::text as day, advance_m::float8 as advance, cumulative_m::float8 as cumulative
        from report.day_advance_trend where drive_code = $drive order by 1`,
    );
    expect(days.map(({ advance }) => advance)).toEqual([10, 30, 0, 0, 20]);
    const second = placeOf(picture, 'Advance since the start of the drive [m]');
    const [x, y, sum] = [
      across(picture, date),
      upward(picture, number, 0, second),
      upward(picture, number, second),
    ];
    const boxes = boxesOf(picture, '#56B4E9');
    expect(boxes).toHaveLength(3);
    for (const { left, right, top } of boxes) {
      const day = days.find((each) => Math.abs(Date.parse(each.day) - x(left)) < HOUR);
      expect(y(top)).toBeCloseTo(day?.advance ?? NaN, 0);
      expect((x(right) - x(left)) / HOUR).toBeCloseTo(24, 0);
    }
    const line = lineOf(picture, '#000000');
    expect(line.points).toHaveLength(6);
    for (const [index, day] of days.entries()) {
      const [atX, atY] = line.points[index + 1] ?? [NaN, NaN];
      expect(Math.abs(x(atX) - Date.parse(day.day) - 24 * HOUR)).toBeLessThan(HOUR);
      expect(sum(atY)).toBeCloseTo(day.cumulative, 0);
    }
  });

  it('draws the mean of seven days from the seventh on', async () => {
    await aWeek();
    expect(wordsOf(await drawn('advance'))).not.toContain('mean of 7 days');
    await put('/shifts/2024-03-09/day', {
      state: 'draft',
      strokes: [],
      activities: [],
      support: [],
      ground: [],
    });
    const picture = await drawn('advance');
    const second = placeOf(picture, 'Advance since the start of the drive [m]');
    const [x, y] = [across(picture, date), upward(picture, number, 0, second)];
    const [[atX, atY] = [NaN, NaN], ...others] = lineOf(picture, '#0072B2').points;
    // seven days from 1 to 7 March: 60 m; drawn at noon of the last day
    expect(Math.abs(x(atX) - Date.parse('2024-03-07T12:00:00Z'))).toBeLessThan(HOUR);
    expect(y(atY)).toBeCloseTo(60 / 7, 0);
    expect(others).toHaveLength(2);
  });

  it('draws the days requested', async () => {
    await aWeek();
    const picture = await drawn('advance', '?from=2024-03-02&to=2024-03-04');
    expect(wordsOf(picture)).toContain('production days 2024-03-02 to 2024-03-04');
    expect(boxesOf(picture, '#56B4E9')).toHaveLength(1);
  });
});

describe('lost time', () => {
  it('draws the hours of each code in descending order, and the running sum of the shares', async () => {
    await aWeek();
    const picture = await drawn('lost-time');
    const words = wordsOf(picture);
    // 5 h and 2 h of 7 h
    expect(words).toContain('5.0 h, 71.4 %');
    expect(words).toContain('2.0 h, 28.6 %');
    expect(words).toContain('7 h lost in all');
    const [x, share] = [across(picture, number), across(picture, number, true)];
    const [breakdown] = boxesOf(picture, '#56B4E9');
    const [waiting] = boxesOf(picture, '#009E73');
    expect([x(breakdown?.left ?? NaN), x(breakdown?.right ?? NaN), x(waiting?.right ?? NaN)]).toEqual([
      expect.closeTo(0, 1),
      expect.closeTo(5, 1),
      expect.closeTo(2, 1),
    ]);
    expect((breakdown?.top ?? NaN) < (waiting?.top ?? NaN)).toBe(true);
    const running = lineOf(picture, '#000000');
    expect(running.points.map(([atX]) => share(atX))).toEqual([
      expect.closeTo(500 / 7, 0),
      expect.closeTo(100, 0),
    ]);
  });

  it('covers the days requested', async () => {
    await aWeek();
    expect(wordsOf(await drawn('lost-time', '?to=2024-03-03'))).toContain(
      'No lost time is recorded in this period.',
    );
  });
});

describe('time and chainage', () => {
  it('draws the face at the end of each day, the programme, the stops and the ground expected and met', async () => {
    await aWeek();
    await aPlan();
    const picture = await drawn('time-chainage');
    const [x, y] = [across(picture, chainage), upward(picture, date)];
    const record = lineOf(picture, '#000000');
    // the production day begins at 06:00; the face stays at 1+240 for two days
    const stood = record.points.map(([atX, atY]) => [Math.round(x(atX)), Math.round(y(atY) / HOUR) * HOUR]);
    const at = (day: number): number => Date.parse(`2024-03-0${day}T06:00:00Z`);
    const expected = [
      [1200, at(1)],
      [1210, at(2)],
      [1240, at(3)],
      [1240, at(4)],
      [1240, at(5)],
      [1260, at(6)],
    ];
    expect(stood).toHaveLength(expected.length);
    stood.forEach(([m, t], index) => {
      expect(Math.abs((m ?? NaN) - (expected[index]?.[0] ?? NaN))).toBeLessThanOrEqual(1);
      expect(Math.abs((t ?? NaN) - (expected[index]?.[1] ?? NaN))).toBeLessThanOrEqual(2 * HOUR);
    });
    const plan = lineOf(picture, '#0072B2').points;
    const [first = [NaN, NaN], last = [NaN, NaN]] = [plan[0], plan.at(-1)];
    expect([x(first[0]), x(last[0])]).toEqual([expect.closeTo(1200, 0), expect.closeTo(2200, 0)]);
    expect(Math.abs(y(last[1]) - Date.parse('2024-04-01T06:00:00Z'))).toBeLessThan(2 * HOUR);
    const classA = boxesOf(picture, '#56B4E9').map(({ left, right }) => [
      Math.round(x(left)),
      Math.round(x(right)),
    ]);
    expect(classA).toEqual([
      [1200, 1700],
      [1200, 1260],
    ]);
    const classB = boxesOf(picture, '#E69F00').map(({ left, right }) => [
      Math.round(x(left)),
      Math.round(x(right)),
    ]);
    expect(classB).toEqual([[1700, 2200]]);
    expect(wordsOf(picture)).toContain(
      '1: FAIL 5 h from 2024-03-04 06:00; 2: WAIT 2 h from 2024-03-04 11:00.',
    );
  });

  it('draws the named programme and baseline', async () => {
    await aPlan();
    await put('/programmes/OTHER', {
      points: [
        { date: '2024-03-01', chainage: '1+200' },
        { date: '2024-05-31', chainage: '2+200' },
      ],
    });
    expect(wordsOf(await drawn('time-chainage'))).toContain('programme OTHER');
    const one = wordsOf(await drawn('time-chainage', '?programme=PLAN&baseline=T'));
    expect([
      one.includes('programme PLAN'),
      one.includes('programme OTHER'),
      one.includes('baseline T'),
    ]).toEqual([true, false, true]);
  });
});

describe('a picture', () => {
  it('is a PNG with twice as many pixels, and the same as of the same moment', async () => {
    await aWeek();
    const query = `?width=600&height=400&asOf=${new Date().toISOString()}`;
    const ask = async (): Promise<Buffer> => {
      const { status, headers, body } = await app.http.get(`${url}/diagrams/advance.png${query}`).buffer();
      expect([status, headers['content-type'], headers['content-disposition']]).toEqual([
        200,
        'image/png',
        `inline; filename="advance-${drive}.png"`,
      ]);
      return body as Buffer;
    };
    const picture = await ask();
    // PNG, section 5.2 and 11.2.2: signature, then width and height in the header
    expect(picture.subarray(0, 8).toString('hex')).toBe('89504e470d0a1a0a');
    expect([picture.readUInt32BE(16), picture.readUInt32BE(20)]).toEqual([1200, 800]);
    expect((await ask()).equals(picture)).toBe(true);
  });

  it('exists of the stereonet and the fan too', async () => {
    for (const name of ['stereonet', 'probe-fan']) {
      const { body } = await app.http.get(`${url}/diagrams/${name}.png`).buffer().expect(200);
      expect((body as Buffer).subarray(1, 4).toString()).toBe('PNG');
    }
  });
});

describe('a diagram that the caller has', () => {
  const ask = async (form: string, known?: string): Promise<[number, string | undefined, number]> => {
    const { status, headers, body } = await app.http
      .get(`${url}/diagrams/advance.${form}`)
      .set({ 'accept-encoding': 'identity', ...(known === undefined ? {} : { 'if-none-match': known }) })
      .buffer();
    return [status, headers.etag as string | undefined, (body as Buffer | undefined)?.length ?? 0];
  };

  it.each(['svg', 'png'])('is not drawn again as %s until the record changes', async (form) => {
    await aWeek();
    const [status, tag = '', bytes] = await ask(form);
    expect([status, bytes > 1000]).toEqual([200, true]);
    const run = jest.spyOn(app.app.get(Workers), 'run').mockClear();
    expect((await ask(form, tag)).slice(0, 2)).toEqual([304, tag]);
    expect(run).not.toHaveBeenCalled();
    await put('/shifts/2024-03-06/day', {
      ...{ state: 'draft', strokes: [], activities: [], support: [], ground: [] },
    });
    const [now, other] = await ask(form, tag);
    expect([now, run.mock.calls.length]).toEqual([200, form === 'png' ? 2 : 1]);
    expect(other).not.toBe(tag);
  });

  it('differs in another size', async () => {
    await aWeek();
    const [, tag = ''] = await ask('svg');
    const { status } = await app.http
      .get(`${url}/diagrams/advance.svg?width=600&height=400`)
      .set('if-none-match', tag);
    expect(status).toBe(200);
  });
});

describe('a refused request', () => {
  const refused = async (path: string): Promise<unknown> => {
    const { status, body } = await app.http.get(`${url}/diagrams/${path}`);
    const { detail, errors } = body as { detail: string; errors?: { pointer: string; value: unknown }[] };
    return { status, detail, at: errors?.map(({ pointer, value }) => [pointer, value]) };
  };

  it('names the diagrams where one is unknown', async () => {
    expect(await refused('pie.svg')).toEqual({
      status: 404,
      detail: expect.stringContaining(
        'There is no diagram pie; there are time-chainage, advance, lost-time',
      ) as unknown,
      at: undefined,
    });
    expect(await refused('advance.gif')).toMatchObject({ status: 404 });
  });

  it('names parameters that the diagram does not have, and ends that are not days or chainages', async () => {
    expect(await refused('advance.svg?baseline=T')).toEqual({
      status: 422,
      detail: 'baseline is not taken by diagram advance, which takes from, to, width, height',
      at: [['/baseline', 'T']],
    });
    expect(await refused('probe-fan.svg?width=800')).toMatchObject({ status: 422, at: [['/width', 800]] });
    expect(await refused('advance.svg?from=1%2B200')).toEqual({
      status: 422,
      detail: 'from must be a production day such as 2027-03-01',
      at: [['/from', '1+200']],
    });
    expect(await refused('advance.svg?from=2024-03-05&to=2024-03-01')).toMatchObject({
      status: 422,
      at: [['/to', '2024-03-01']],
    });
    expect(await refused('stereonet.svg?from=2024-03-05')).toMatchObject({
      status: 422,
      at: [['/from', '2024-03-05']],
    });
    expect(await refused('advance.svg?width=10')).toMatchObject({ status: 422, at: [['/width', '10']] });
  });

  it('names a baseline or a programme that the drive does not have', async () => {
    expect(await refused('time-chainage.svg?baseline=NONE')).toMatchObject({
      status: 404,
      detail: expect.stringContaining('baseline NONE') as unknown,
    });
    expect(await refused('time-chainage.svg?programme=NONE')).toMatchObject({
      status: 404,
      detail: expect.stringContaining('programme NONE') as unknown,
    });
  });
});
