import { createHash } from 'node:crypto';
import { aProject } from '../builders/project.js';
import { aShift, at, type ShiftBuilder } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';

// The dimensions of support items, and the delivered volume of a line: kept as given, or refused with the reason.

let app: TestApp;
const P = '/v1/projects/P1';

type Row = Record<string, unknown>;

const putItem = (code: string, item: object) => app.http.put(`${P}/support-items/${code}`).send(item);

const post = async (shift: ShiftBuilder): Promise<Row> => {
  const { status, text, body } = await app.http
    .put(`${P}/drives/N/shifts/${shift.date}/${shift.shift}`)
    .send(shift.build());
  if (status > 201) throw new Error(text);
  return body as Row;
};

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

describe('a support item', () => {
  it('is stored as given; what is no longer given is removed', async () => {
    const bolt = {
      kind: 'bolt',
      unit: 'nr',
      description: 'Bolt',
      diameterMm: '25',
      circumferentialSpacingM: '1.5',
      longitudinalSpacingM: '1.5',
      patternArcDeg: '120',
    };
    expect((await putItem('X', bolt)).body).toMatchObject({
      diameterMm: '25.00',
      circumferentialSpacingM: '1.500',
      longitudinalSpacingM: '1.500',
      patternArcDeg: '120.00',
      lapPercent: null,
    });
    expect((await putItem('X', { kind: 'bolt', unit: 'nr', description: 'B' })).body).toMatchObject({
      diameterMm: null,
      patternArcDeg: null,
    });
    const sprayed = { kind: 'sprayed_concrete', unit: 'm3', description: 'S', theoreticalThicknessMm: '100' };
    expect(
      (await putItem('X', { ...sprayed, reboundPercent: '25', overbreakPercent: '20' })).body,
    ).toMatchObject({
      theoreticalThicknessMm: '100.00',
      reboundPercent: '25.00',
      overbreakPercent: '20.00',
    });
    const segment = { kind: 'invert_segment', unit: 'nr', description: 'I', massKg: '2400' };
    expect((await putItem('INVERT', segment)).status).toBe(201);
    const query = `{ project(project: "P1") { supportItems { code kind massKg centreLineDiameterM sheetWidthM } } }`;
    const { supportItems } = (await app.http.post('/graphql').send({ query })).body.data.project;
    expect(supportItems).toContainEqual({
      code: 'INVERT',
      kind: 'invert_segment',
      massKg: '2400.000',
      centreLineDiameterM: null,
      sheetWidthM: null,
    });
  });

  it.each([
    [{ kind: 'spile', unit: 'm2' }, '/unit', 'unit m2 does not fit a spile: it is counted in nr or m'],
    [{ kind: 'invert_segment', unit: 'm3' }, '/unit', /it is counted in nr/],
    [{ kind: 'rib', diameterMm: '25' }, '/diameterMm', /does not fit a rib: it belongs to bolt or spile/],
    [{ kind: 'bolt', lapPercent: '15' }, '/lapPercent', /belongs to mesh/],
    [{ kind: 'spile', reboundPercent: '10' }, '/reboundPercent', /belongs to sprayed concrete/],
    [{ kind: 'bolt', massKg: '1' }, '/massKg', /belongs to invert segment/],
    [
      { kind: 'bolt', circumferentialSpacingM: '1.5' },
      '/longitudinalSpacingM',
      'longitudinalSpacingM is missing: circumferentialSpacingM is given, and neither is enough alone',
    ],
    [
      { kind: 'mesh', unit: 'm2', sheetWidthM: '2' },
      '/sheetLengthM',
      /sheetLengthM is missing: sheetWidthM is given/,
    ],
    [{ kind: 'rib', lengthM: '5', centreLineDiameterM: '7' }, '/centreLineDiameterM', /not both/],
    [
      { kind: 'sprayed_concrete', unit: 'm3', reboundPercent: '99.5' },
      '/reboundPercent',
      /from 0 to 99 with/,
    ],
    [{ kind: 'bolt', patternArcDeg: '361' }, '/patternArcDeg', /from 0\.01 to 360/],
    [{ kind: 'anchor' }, '/kind', /one of/],
  ])('%j is refused at %s', async (item, pointer, detail) => {
    const before = await app.contents();
    const { status, body } = await putItem('NEW', { unit: 'nr', description: 'New', ...item });
    expect([status, body.errors]).toEqual([
      422,
      [
        expect.objectContaining({
          pointer,
          detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
        }),
      ],
    ]);
    expect(await app.contents()).toBe(before);
  });
});

describe('a delivered volume', () => {
  const url = (date: string): string => `${P}/drives/N/shifts/${date}/day`;

  it('comes back with the document, which can be put again unchanged', async () => {
    const ticket = (deliveredVolumeM3?: string): ShiftBuilder =>
      aShift('2027-04-01').withSupport('SPRAY', '1+205', '1+206', '1', { deliveredVolumeM3 });
    const { etag: with5 } = await post(ticket('5'));
    const { body, headers } = await app.http.get(url('2027-04-01'));
    expect(body.support).toMatchObject([{ deliveredVolumeM3: '5.000' }]);
    const again = await app.http.put(url('2027-04-01')).send(body);
    expect(again.body).toMatchObject({ outcome: 'unchanged', etag: with5 });
    const without = await app.http
      .put(url('2027-04-01'))
      .set('If-Match', headers['etag']!)
      .send(ticket().build());
    expect(without.body.outcome).toBe('replaced');
    expect(without.body.etag).not.toBe(with5);
  });

  it('that is left out leaves the digest of a shift as it was before the field existed', async () => {
    const date = '2027-04-02';
    // The canonical form of that time, written out: 5 to 6 m driven, 06:00 to 18:00.
    const line =
      '{"item":"SPRAY","unit":"m3","zone":"L1","fromMm":5000,"toMm":6000,"quantity":"1.500","arcFromDeg":"0.00","arcToDeg":"90.00",' +
      '"thicknessMm":"100.00","installedAt":null,"remark":null}';
    const canonical =
      `{"state":"draft","startsAt":${Date.parse(at(date, '06:00'))},"endsAt":${Date.parse(at(date, '18:00'))},"crewLead":null,"remark":null,` +
      `"borings":[],"activities":[],"support":[${line}],"ground":[]}`;
    const digest = createHash('sha256').update(canonical).digest('hex');
    const arc = { arcFromDeg: '0', arcToDeg: '90', thicknessMm: '100' };
    const { etag } = await post(aShift(date).withSupport('SPRAY', '1+205', '1+206', '1.5', arc));
    expect(etag).toBe(`"${digest.slice(0, 32)}"`);
    const { body } = await app.http.get(url(date));
    expect(body.support[0].deliveredVolumeM3).toBeNull();
    expect((await app.http.put(url(date)).send(body)).body).toMatchObject({ outcome: 'unchanged', etag });
  });

  it.each([
    [
      'BOLT',
      '1',
      '5',
      'BOLT is a bolt: a delivered volume belongs to sprayed concrete, cast concrete or cavity fill',
    ],
    [
      'MESH',
      '1',
      '5',
      'MESH is a mesh: a delivered volume belongs to sprayed concrete, cast concrete or cavity fill',
    ],
    ['SPRAY', '1', '0', /must be a number from 0\.001/],
    ['SPRAY', '1', '5.0001', /at most 3 decimals/],
  ])('of %s %s with %s is refused', async (item, quantity, deliveredVolumeM3, detail) => {
    const before = await app.contents();
    const shift = aShift('2027-04-03').withSupport(item, '1+205', undefined, quantity, { deliveredVolumeM3 });
    const { status, body } = await app.http.put(url('2027-04-03')).send(shift.build());
    expect([status, body.errors]).toEqual([
      422,
      [
        expect.objectContaining({
          pointer: '/support/0/deliveredVolumeM3',
          detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
        }),
      ],
    ]);
    expect(await app.contents()).toBe(before);
  });
});
