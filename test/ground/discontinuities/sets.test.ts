import { planeOf, poleOf } from '../../../src/engineering/orientation.js';
import { app, drive, url, ownDrives } from '../../harness/own-drives.js';
import { joint, sets, sheet } from './sheet.js';

// Mean and shape of sets of discontinuities: worked by hand beside each case, and by search.

ownDrives('J');

describe('the sets', () => {
  it('have mean, eigenvalues and concentration of their poles, and means of what was given', async () => {
    await sheet([
      // on both sides of horizontal: mean pole in the middle of 1° below and 2° above, R = 2 cos 1.5°
      {
        name: 'A',
        ...joint('1+201', 89, 0, { set: 'J1', spacingM: '0.2', apertureMm: '1', seepage: 'dry' }),
      },
      { name: 'B', ...joint('1+202', 88, 180, { set: 'J1', spacingM: '0.5', seepage: 'wet' }) },
      // three equal ones
      ...[1, 2, 3].map((n) => ({
        name: `C${n}`,
        ...joint('1+203', 30, 120, { set: 'S0', persistenceM: String(n) }),
      })),
      // no set: their mean would be meaningless
      { name: 'X', ...joint('1+204', 10, 10, { spacingM: '3' }) },
      { name: 'Y', ...joint('1+205', 70, 100) },
    ]);
    const [j1, s0, none, ...rest] = await sets();
    const half = Math.cos((1.5 * Math.PI) / 180);
    expect(rest).toEqual([]);
    expect(j1).toEqual({
      set: 'J1',
      count: 2,
      shape: null,
      strength: null,
      meanDipDeg: expect.closeTo(89.5, 9),
      meanDipDirectionDeg: expect.closeTo(180, 9),
      // two axes 3° apart: cos² 1.5° and sin² 1.5° in the plane that holds them, 0 across it
      eigenvalue1: expect.closeTo(half ** 2, 9),
      eigenvalue2: expect.closeTo(1 - half ** 2, 9),
      eigenvalue3: 0,
      resultant: expect.closeTo(2 * half, 9),
      concentration: expect.closeTo(1 / (2 - 2 * half), 3),
      meanSpacingM: '0.350',
      spacingCount: 2,
      meanPersistenceM: null,
      persistenceCount: 0,
      meanApertureMm: '1.00',
      apertureCount: 1,
      seepingCount: 1,
    });
    expect(s0).toMatchObject({
      set: 'S0',
      count: 3,
      meanDipDeg: expect.closeTo(30, 9),
      meanDipDirectionDeg: expect.closeTo(120, 9),
      eigenvalue1: expect.closeTo(1, 9),
      resultant: expect.closeTo(3, 9),
      meanPersistenceM: '2.000',
      concentration: null,
    });
    expect(none).toMatchObject({ set: null, count: 2, meanSpacingM: '3.000', spacingCount: 1 });
    expect(none).toMatchObject({ meanDipDeg: null, resultant: null });
    // a part: half open, so Y at its end is excluded
    expect((await sets('?from=1+202&to=1+205')).map(({ set, count }) => [set, count])).toEqual([
      ['J1', 1],
      ['S0', 3],
      [null, 1],
    ]);
    expect(await sets('?from=1+300&to=1+400')).toEqual([]);
    // means to the nearest millimetre and hundredth: 5 / 3 = 1.6667 m, 0.5 / 3 = 0.1667 mm
    await sheet(
      [
        ['1', '0.1'],
        ['2', '0.2'],
        ['2', '0.2'],
      ].map(([m, mm], n) => ({
        name: `M${n}`,
        ...joint('1+210', 45, 45, { set: 'M', spacingM: m, persistenceM: m, apertureMm: mm }),
      })),
    );
    const [means] = await sets('?from=1+209&to=1+211');
    expect(means).toMatchObject({ meanSpacingM: '1.667', meanPersistenceM: '1.667', meanApertureMm: '0.17' });
    expect(
      await app.sql(
        `select mean_spacing_m::text as m from report.discontinuity_spacing where drive_code = $1 and set_label = 'M'`,
        [drive],
      ),
    ).toEqual([{ m: '1.667' }]);
    const { body } = await app.http.get(`${url}/discontinuities/sets`);
    expect(body.caution).toContain('designer and the local code');
  });

  it('report the plane of a single discontinuity as it was mapped', async () => {
    await sheet([{ name: 'A', ...joint('1+201', 60, 135, { set: 'J1' }) }]);
    expect(await sets()).toMatchObject([{ meanDipDeg: 60, meanDipDirectionDeg: 135, eigenvalue1: 1 }]);
  });

  it('agree with a mean found by trying every direction', async () => {
    const dips = [60, 72, 55, 80, 66, 48];
    const planes = dips.map((dip, n) => ({ dip, direction: (330 + 13 * n) % 360 }));
    await sheet(
      planes.map(({ dip, direction }, n) => ({
        name: `D${n}`,
        ...joint('1+201', dip, direction, { set: 'J' }),
      })),
    );
    const [set] = await sets();
    // the axis to which the sum of the squares of the cosines is largest, on a grid of 0.5°
    const poles = planes.map(({ dip, direction }) => poleOf({ dipDeg: dip, dipDirectionDeg: direction }));
    let best = { sum: 0, dip: 0, direction: 0 };
    for (let dip = 0; dip <= 90; dip += 0.5)
      for (let direction = 0; direction < 360; direction += 0.5) {
        const [e, n, d] = poleOf({ dipDeg: dip, dipDirectionDeg: direction });
        const sum = poles.reduce((total, [a, b, c]) => total + (a * e + b * n + c * d) ** 2, 0);
        if (sum > best.sum) best = { sum, dip, direction };
      }
    expect(Math.abs(Number(set['meanDipDeg']) - best.dip)).toBeLessThan(0.51);
    expect(Math.abs(Number(set['meanDipDirectionDeg']) - best.direction)).toBeLessThan(0.51);
    expect(Number(set['eigenvalue1'])).toBeCloseTo(best.sum / poles.length, 3);
  });

  it('are the same to the last digit, in any order of writing, and as of a moment', async () => {
    const planes = Array.from({ length: 40 }, (_, n) => ({
      name: `D${n}`,
      ...joint('1+205', (5000 + ((n * 337) % 2000)) / 100, ((n * 1777) % 9000) / 100, {
        set: 'J',
      }),
    }));
    /** Unchanged, but stored elsewhere on disk. */
    const rewrite = async (some: typeof planes): Promise<void> => {
      await sheet(some.map((plane) => ({ ...plane, dipDeg: '1' })));
      expect((await sheet(some.toReversed())).status).toBe(200);
    };
    await sheet(planes);
    const whole = await sets();
    const answers = [];
    for (const start of [0, 10, 20]) {
      await rewrite(planes.slice(start, start + 15));
      const moment = new Date().toISOString();
      answers.push(await sets(), await sets(`?asOf=${moment}`));
    }
    expect(answers).toEqual(Array(6).fill(whole));
  });

  it('are the same by SQL, for the whole drive', async () => {
    await sheet([1, 2, 3].map((n) => ({ name: `D${n}`, ...joint('1+201', 20 * n, 90, { set: 'J' }) })));
    const [row] = await app.sql<Record<string, number>>(
      'select * from report.discontinuity_set where drive_code = $1',
      [drive],
    );
    // poles in one plane, 20°, 40° and 60° from the vertical to the west: down and east only
    const [c, s] = [Math.cos, Math.sin].map((f) => [20, 40, 60].map((deg) => f((deg * Math.PI) / 180)));
    const sum = (values: number[]): number => values.reduce((total, value) => total + value, 0);
    expect(row).toMatchObject({
      discontinuity_count: 3,
      sum_east_east: expect.closeTo(sum(s.map((x) => x * x)), 12),
      sum_down_down: expect.closeTo(sum(c.map((x) => x * x)), 12),
      sum_east_down: expect.closeTo(sum(s.map((x, k) => -x * c[k])), 12),
      sum_north_north: expect.closeTo(0, 12),
    });
    expect((await sets())[0]['meanDipDeg']).toBeCloseTo(
      planeOf([-Math.sin((Math.PI * 2) / 9), 0, Math.cos((Math.PI * 2) / 9)]).dipDeg,
      9,
    );
  });
});
