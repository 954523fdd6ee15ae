import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { LOG, putLog, Q_INPUT, RMR_INPUT, URL } from './logs.js';

// The notes of the published tables: named adjustments, ranges, proposals for R6, rows that exclude each other.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

const Q = { ...Q_INPUT, edition: 'q-2013.2' };
const ZONE = { name: 'zone_influences_only', percent: 40, note: 'Zone passes 4 m left of the wall' };

const faults = async (log: object): Promise<unknown> => {
  const { status, body } = await app.http.put(`${URL}/ground-logs/X`).send(log);
  expect(status).toBe(422);
  return (body.errors as { pointer: string; detail: string }[]).map(({ pointer, detail }) => [
    pointer,
    detail,
  ]);
};

describe('an adjustment', () => {
  it('is stored with the value of the row and its note, and counts in Q', async () => {
    const srf = { row: 'E', adjustment: ZONE };
    const jw = { row: 'C', adjustment: { name: 'drained', value: 0.66, note: 'Two drains at 9 o’clock' } };
    const answer = await putLog(app, 'A', { ...LOG, q: { ...Q, srf, jw } });
    // by hand: 80/9 · 1.5/1 · 0.66/1.5 = 5.8667; without it 80/9 · 1.5 · 0.5/2.5 = 2.6667, another class
    expect(answer['q']).toMatchObject({
      srf: { row: 'E', value: '2.5', adjustment: ZONE },
      srfCounted: 1.5,
      jw: { row: 'C', value: '0.5', adjustment: { name: 'drained', value: 0.66 } },
      jwCounted: 0.66,
      q: expect.closeTo(5.86667, 4),
      qClass: 'fair',
    });
    const [row] = await app.sql(
      `select q_srf, q_srf_counted, q_srf_adjustment ->> 'note' as note from report.ground_log where name = 'A'`,
    );
    expect(row).toEqual({ q_srf: '2.5', q_srf_counted: 1.5, note: ZONE.note });
  });

  it('applies only when a log names it', async () => {
    const { q } = (await putLog(app, 'A', { ...LOG, q: { ...Q, srf: { row: 'E' } } })) as { q: object };
    expect(q).toMatchObject({ srf: { row: 'E', value: '2.5', adjustment: null }, srfCounted: 2.5 });
  });

  it.each([
    [
      { srf: { row: 'G', adjustment: ZONE } },
      '/q/srf/adjustment/name',
      'zone_influences_only is for row A, B, C, D, E of srf, not G (q-2013.2)',
    ],
    [
      { srf: { row: 'E', adjustment: { ...ZONE, percent: 60 } } },
      '/q/srf/adjustment/percent',
      'percent 60 of zone_influences_only must lie from 25 to 50 (q-2013.2)',
    ],
    [
      { edition: 'q-2013', srf: { row: 'E', adjustment: ZONE } },
      '/q/srf/adjustment/name',
      'srf has no adjustment zone_influences_only: there is none (q-2013)',
    ],
    [
      { jn: { row: 'F', adjustment: ZONE } },
      '/q/jn/adjustment/name',
      'jn has no adjustment zone_influences_only: there is none (q-2013.2)',
    ],
    [{ srf: { row: 'E', adjustment: { ...ZONE, note: ' ' } } }, '/q/srf/adjustment/note', 'note is missing'],
    [
      { srf: { row: 'H-unfavourable', value: 3 } },
      '/q/srf/row',
      expect.stringMatching(/^srf has no row H-unfavourable/),
    ],
  ])('that does not apply is refused: %j', async (more, pointer, detail) => {
    expect(await faults({ ...LOG, q: { ...Q, ...more } })).toEqual([[pointer, detail]]);
  });
});

describe('φr', () => {
  it('is answered with Ja, also where the edition of the log did not have it yet', async () => {
    for (const edition of ['q-2013', 'q-2013.2', 'q-1974', 'q-1974.2'])
      expect(
        (
          await putLog(app, 'A', {
            ...LOG,
            q: {
              ...Q_INPUT,
              edition,
              srf: { row: edition.startsWith('q-1974') ? 'J' : 'G' },
              ja: { row: 'D' },
            },
          })
        )['q'],
      ).toMatchObject({
        edition,
        frictionMinDeg: 20,
        frictionMaxDeg: 25,
      });
  });
});

describe('a range', () => {
  const range = {
    rqdMinPercent: 60,
    rqdMaxPercent: 90,
    jnMin: { row: 'E' },
    jnMax: { row: 'G' },
    jaMax: { row: 'C' },
    jwMin: { row: 'B' },
    srfMax: { row: 'B', adjustment: { ...ZONE, percent: 50 } },
  };

  it('gives the lowest and highest Q beside that of the typical values', async () => {
    const { q } = (await putLog(app, 'A', { ...LOG, q: { ...Q, range } })) as { q: object };
    // by hand: 60/12 · 1.5/2 · 0.66/3.75 = 0.66, very poor; 80/9 · 1.5 = 13.333, good; 90/6 · 1.5 = 22.5, good
    expect(q).toMatchObject({
      range: { rqdMinPercent: 60, jnMin: { row: 'E', value: '6' }, srfMax: { row: 'B', value: '7.5' } },
      q: expect.closeTo(13.3333, 4),
      lowest: {
        q: expect.closeTo(0.66, 10),
        qClass: 'very poor',
        of: { rqdPercent: 60, jn: 12, jr: 1.5, ja: 2, jw: 0.66, srf: 3.75 },
      },
      highest: { q: 22.5, qClass: 'good', of: { rqdPercent: 90, jn: 6, jr: 1.5, ja: 1, jw: 1, srf: 1 } },
    });
    const query = `{ drive(project: "P1", drive: "N") { groundLog(name: "A") { q { range { jnMax { row value } srfMax { adjustment { percent } } } lowest { q qClass of { srf } } highest { q } } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive.groundLog.q).toEqual({
      range: { jnMax: { row: 'G', value: '12' }, srfMax: { adjustment: { percent: 50 } } },
      lowest: { q: expect.closeTo(0.66, 10), qClass: 'very poor', of: { srf: 3.75 } },
      highest: { q: 22.5 },
    });
    const [row] = await app.sql(
      `select q_lowest, q_lowest_class, q_highest, q_highest_class from report.ground_log where name = 'A'`,
    );
    expect(row).toEqual({
      q_lowest: expect.closeTo(0.66, 10),
      q_lowest_class: 'very poor',
      q_highest: 22.5,
      q_highest_class: 'good',
    });
  });

  it.each([
    [
      { rqdMinPercent: 81 },
      '/q/range/rqdMinPercent',
      'rqdMinPercent 81 is above the typical 80: least ≤ typical ≤ greatest, as they count',
    ],
    [
      { rqdMaxPercent: 79 },
      '/q/range/rqdMaxPercent',
      expect.stringMatching(/^rqdMaxPercent 79 is below the typical 80/),
    ],
    [{ jnMin: { row: 'G' } }, '/q/range/jnMin', expect.stringMatching(/^jnMin 12 is above the typical 9/)],
    [
      { srfMax: { row: 'H', value: 0.5 } },
      '/q/range/srfMax',
      expect.stringMatching(/^srfMax 0.5 is below the typical 1/),
    ],
    [{ jwMin: { row: 'Z' } }, '/q/range/jwMin/row', expect.stringMatching(/^jw has no row Z/)],
  ])('that crosses the typical value is refused: %j', async (crossed, pointer, detail) => {
    expect(await faults({ ...LOG, q: { ...Q, range: crossed } })).toEqual([[pointer, detail]]);
  });

  it('is removed with the rating, and an empty one counts as absent', async () => {
    const { q } = (await putLog(app, 'A', { ...LOG, q: { ...Q, range: {} } })) as { q: object };
    expect(q).toMatchObject({ range: null, lowest: null, highest: null });
    expect((await putLog(app, 'A', LOG))['q']).toBeNull();
  });
});

describe('R6', () => {
  it('is proposed with the log, whose own orientation counts', async () => {
    const jointOrientation = { dipDeg: 60, dipDirectionDeg: 270, driveAzimuthDeg: 90 };
    const rmr = { ...RMR_INPUT, orientation: 'very_favourable' };
    const answer = await putLog(app, 'A', { ...LOG, jointOrientation, rmr });
    expect(answer).toMatchObject({
      jointOrientation,
      // across the axis, against the dip, 60°: fair, −5; the log says very favourable, 0: 12 + 17 + 15 + 20 + 10 = 74
      orientationProposal: {
        edition: 'rmr-1989.2',
        row: 'perpendicular_against_dip_45_90',
        orientation: 'fair',
        rating: -5,
        strikeAngleDeg: 90,
      },
      rmr: { orientation: 'very_favourable', orientationRating: 0, rmr: 74, rmrWithoutOrientation: 74 },
    });
    const query = `{ drive(project: "P1", drive: "N") { groundLog(name: "A") { orientationProposal { orientation rating } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive.groundLog.orientationProposal).toEqual({ orientation: 'fair', rating: -5 });
    const [row] = await app.sql(
      `select orientation_proposed, orientation_proposed_rating, rmr_without_orientation from report.ground_log where name = 'A'`,
    );
    expect(row).toEqual({
      orientation_proposed: 'fair',
      orientation_proposed_rating: -5,
      rmr_without_orientation: 74,
    });
  });

  it('needs the three angles together, each in its range', async () => {
    const orientation = { dipDeg: 60, dipDirectionDeg: 270, driveAzimuthDeg: 90 };
    expect(
      await faults({ ...LOG, jointOrientation: { ...orientation, driveAzimuthDeg: undefined } }),
    ).toEqual([['/jointOrientation/driveAzimuthDeg', 'driveAzimuthDeg is missing']]);
    expect(await faults({ ...LOG, jointOrientation: { ...orientation, dipDirectionDeg: 360 } })).toEqual([
      ['/jointOrientation/dipDirectionDeg', expect.stringMatching(/must not be greater than 359.99/)],
    ]);
  });
});

describe('R4', () => {
  const detailed = {
    persistenceM: 12,
    apertureMm: 6,
    roughness: 'rough',
    infilling: 'none',
    weathering: 'fresh',
  };
  const rmr = { ...RMR_INPUT, edition: 'rmr-1989.2', condition: undefined };

  it.each([
    [{}, 'an aperture of 6 mm is above 5 mm: roughness is masked, use the short table'],
    [
      { apertureMm: 5, infilling: 'soft_above_5mm' },
      'infilling is soft and above 5 mm: roughness is masked, use the short table',
    ],
  ])('is not summed from rows that exclude each other: %j', async (more, detail) => {
    expect(await faults({ ...LOG, rmr: { ...rmr, detailedCondition: { ...detailed, ...more } } })).toEqual([
      ['/rmr/detailedCondition', detail],
    ]);
  });

  it('that was so summed in an existing log is marked, and keeps its value', async () => {
    await putLog(app, 'A', { ...LOG, rmr: { ...rmr, detailedCondition: { ...detailed, apertureMm: 5 } } });
    await app.sql(
      `update ground_log_sheet set rmr_aperture_mm = 6, rmr_edition = 'rmr-1989' where name = 'A'`,
    );
    const { body } = await app.http.get(`${URL}/ground-logs/A`);
    // 1 + 1 + 5 + 6 + 6
    expect(body.rmr).toMatchObject({
      conditionRating: 19,
      conditionFault: 'an aperture of 6 mm is above 5 mm: roughness is masked, use the short table',
    });
  });
});
