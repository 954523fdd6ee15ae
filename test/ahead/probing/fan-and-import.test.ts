import { app, drive, ownDrives, url } from '../../harness/own-drives.js';
import { ask, bore, cover, fallingDrive, hole } from './site.js';

// The fan as a drawing, and holes from a sheet.

ownDrives('PF');

const fan = async (): Promise<string> => {
  const { status, headers, body } = await app.http.get(`${url}/probe-fan.svg`).buffer();
  expect([status, headers['content-type']]).toEqual([200, 'image/svg+xml; charset=utf-8']);
  return (body as Buffer).toString();
};

describe('the fan', () => {
  it('draws the holes ahead in section and plan, with title, units, moment, cover and caution', async () => {
    await bore('1+200', '1+210');
    await hole('CROWN', { positionDeg: '0', lookOutDeg: '5' });
    await hole('RIGHT', { positionDeg: '90', lookOutDeg: '5' });
    await hole('LOST', { positionDeg: null });
    await hole('BEHIND', { lengthM: '5' }); // ends behind the face
    await ask([{ name: 'ONE', holeCount: 2, overlapM: '8' }]);
    const svg = await fan();
    expect(svg).toMatch(/^<svg xmlns/);
    expect(svg).toContain(`Probe holes ahead of the face, drive ${drive}`);
    // two holes of 30 m at 5° reach 29.886 m from 1+200; less 8 m
    expect(svg).toContain('Face 1+210.000, covered to 1+229.886, may go to 1+221.886');
    expect(svg).toMatch(
      /As of \d{4}-\d\d-\d\d \(UTC\), last change \d+ of \d{4}-\d\d-\d\d \d\d:\d\d\. Project P1\. 3 holes/,
    );
    expect(svg).toContain('seen in the direction of the drive [m]');
    expect(svg).toContain('chainage [km + m]');
    expect(svg).toContain('the local code decide');
    expect(svg.match(/<title>(CROWN|RIGHT): 1\+200\.000 to 1\+229\.886, drilled<\/title>/g)).toHaveLength(4);
    expect(svg).toContain('not noted: not drawn');
    expect(svg).not.toContain('BEHIND');
  });

  it('puts a hole of the right wall right of the axis in section and below it in plan', async () => {
    await hole('RIGHT', { positionDeg: '90' });
    const [section, plan] = [...(await fan()).matchAll(/<title>RIGHT[^]*?<path d="M([\d.]+) ([\d.]+)L/g)];
    // the axis of the section is at 450 300, that of the plan at y = 690
    expect([Number(section?.[1]) > 450, Number(section?.[2])]).toEqual([true, 300]);
    expect(Number(plan?.[2])).toBeGreaterThan(690);
  });

  it('is drawn on a drive against the chainage, and without any hole', async () => {
    await fallingDrive(`${drive}F`);
    expect(await fan()).toContain('0 holes');
    await hole('A', { collar: '2+195' });
    expect(await fan()).toContain('<title>A: 2+195.000 to 2+165.000, drilled</title>');
  });

  it('has dashed lines for what gives no cover', async () => {
    await hole('A', { drilledAt: null });
    expect(await fan()).toMatch(/<title>A:[^<]*<\/title><path [^>]*stroke-dasharray/);
    await hole('A');
    expect(await fan()).not.toMatch(/<title>A:[^<]*<\/title><path [^>]*stroke-dasharray/);
  });
});

describe('a sheet', () => {
  const HEAD = 'name,collar,position_deg,look_out_deg,length_m,state,planned_length_m,drilled_at';
  const send = (lines: string[], fields: Record<string, string> = {}) =>
    app.http
      .post(`${url}/imports/probe-holes`)
      .field(fields)
      .attach('file', Buffer.from([HEAD, ...lines].join('\n')), 'holes.csv');
  const A = 'A,1+200,0,5,30,drilled,,2021-03-01T05:00:00Z';
  const B = 'B,1+200,120,5,20,flooded,30,2021-03-01T06:00:00Z';

  it('is tried, imported, repeated and changed, hole by hole', async () => {
    const before = await app.contents();
    const tried = await send([A, B], { dryRun: 'true' });
    expect([tried.status, tried.body]).toEqual([
      200,
      expect.objectContaining({ dryRun: true, created: 2, updated: 0, unchanged: 0, rejected: 0, rows: [] }),
    ]);
    expect(await app.contents()).toBe(before);
    expect((await send([A, B])).body).toMatchObject({ dryRun: false, created: 2 });
    expect((await app.http.get(`${url}/probe-holes/B`)).body).toMatchObject({
      state: 'flooded',
      plannedLengthM: '30.000',
      reach: '1+219.924', // 20 · cos 5° = 19.9239
    });
    expect((await send([A, B.replace(',20,', ',21,')])).body).toMatchObject({ unchanged: 1, updated: 1 });
    expect((await cover()).coverM).toBe('29.886');
  });

  it('keeps the log of an existing hole, and may not make the hole shorter than its log', async () => {
    await hole('A', { log: [{ fromM: '0', toM: '25', rock: 'granite' }] });
    expect((await send([A])).body).toMatchObject({ updated: 1 });
    expect((await app.http.get(`${url}/probe-holes/A`)).body.log).toMatchObject([{ toM: '25.000' }]);
    const { status, body } = await send([A.replace(',30,', ',24,')]);
    expect([status, body.errors]).toEqual([
      422,
      [
        expect.objectContaining({
          pointer: '/rows/0/log.0.toM',
          value: '25.000',
          detail: 'line 2: toM 25.000 lies beyond the drilled length of 24.000 m',
        }),
      ],
    ]);
  });

  it('is refused whole where a row is wrong, and a dry run reports the rows', async () => {
    const before = await app.contents();
    const lines = [A, 'A,1+200,0,5,30,,,', 'C,3+000,400,5,30,lost,,', 'no name!,1+200,0,5,30,,,', 'D,1+200'];
    const { status, body } = await send(lines);
    expect(status).toBe(422);
    expect(body.errors.map(({ pointer }: { pointer: string }) => pointer)).toEqual([
      '/rows/1/name',
      '/rows/2/positionDeg',
      '/rows/2/state',
      '/rows/3/name',
      '/rows/4',
    ]);
    const tried = await send(lines, { dryRun: 'true' });
    expect(tried.status).toBe(200);
    expect(tried.body).toMatchObject({ created: 1, rejected: 4 });
    expect(tried.body.rows[0]).toMatchObject({
      line: 3,
      key: 'A',
      outcome: 'rejected',
      faults: [{ field: 'name', detail: 'A is listed twice, on lines 2 and 3' }],
    });
    expect(await app.contents()).toBe(before);
  });

  it.each([
    ['name,collar,length_m,look_out_deg,depth', 'A,1+200,30,5,1', /"depth" is not a known heading/],
    ['collar,length_m,look_out_deg', '1+200,30,5', /has no column "name"/],
    ['name,name,collar,length_m,look_out_deg', 'A,A,1+200,30,5', /"name" appears twice/],
  ])('with the headings %s is refused', async (head, line, detail) => {
    const { status, body } = await app.http
      .post(`${url}/imports/probe-holes`)
      .attach('file', Buffer.from(`${head}\n${line}\n`), 'holes.csv');
    expect([status, body.errors]).toEqual([
      422,
      [expect.objectContaining({ pointer: '/file', detail: expect.stringMatching(detail) })],
    ]);
  });
});
