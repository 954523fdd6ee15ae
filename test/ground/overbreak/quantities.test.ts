import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { app, drive, url, ownDrives, toDrive } from '../../harness/own-drives.js';
import { intervals, item, put, read, type Row } from './items.js';
import { describeOnce, itOnce, runs } from '../../harness/sizes.js';

// Totals of overbreak. D 7 m: the section is 38.484510 m². Worked by hand beside each case, and by property.

const cells = (rows: Row[], ...names: string[]): unknown[][] =>
  rows.map((row) => names.map((name) => row[name]));

ownDrives('O');

describeOnce('quantities', () => {
  beforeEach(async () => {
    // 10 m³ over 1+204 to 1+214, 3 m³ over 1+212 to 1+215, and 5 m that were surveyed without overbreak
    await item('A', '1+204', '1+214', 'geological', { areaM2: '1', maxDepthM: '0.8' });
    await item('B', '1+212', '1+215', 'operational', { volumeM3: '3', maxDepthM: '0.3' });
    await item('C', '1+215', '1+220', 'operational', { areaM2: '0' });
  });

  itOnce('add up by cause, against the theoretical volume of the metres surveyed', async () => {
    // surveyed 204–220: 16 m · 38.484510 = 615.752 m³; 10 / 615.752 = 1.62 %, 3 / 615.752 = 0.49 %, 13: 2.11 %
    expect(await read()).toEqual({
      surveyedM: '16.000',
      theoreticalVolumeM3: '615.752',
      geologicalVolumeM3: '10.000',
      operationalVolumeM3: '3.000',
      volumeM3: '13.000',
      geologicalPercent: '1.62',
      operationalPercent: '0.49',
      percent: '2.11',
      maxDepthM: '0.800',
      itemCount: 3,
      caution: expect.stringContaining('designer and the local code'),
    });
  });

  itOnce('are split at round chainages', async () => {
    // 200–210: 6 of A's 10 m, 6 m³; 210–220: 4 m³ of A, 3 of B and none of C. 6 m are 230.907 m³, 10 m the rest, 384.845.
    const figures = [
      'from',
      'to',
      'surveyedM',
      'theoreticalVolumeM3',
      'geologicalVolumeM3',
      'operationalVolumeM3',
      'volumeM3',
    ];
    expect(cells(await intervals(), ...figures)).toEqual([
      ['1+200.000', '1+210.000', '6.000', '230.907', '6.000', '0.000', '6.000'],
      ['1+210.000', '1+220.000', '10.000', '384.845', '4.000', '3.000', '7.000'],
    ]);
    expect(
      cells(
        await intervals(),
        'geologicalPercent',
        'operationalPercent',
        'percent',
        'maxDepthM',
        'itemCount',
      ),
    ).toEqual([
      ['2.60', '0.00', '2.60', '0.800', 1],
      ['1.04', '0.78', '1.82', '0.800', 3],
    ]);
    // by 4 m: B's 3 m³ as 3 m, cut at 216: all in 212–216; from 216 on only metres without overbreak
    expect(
      cells(await intervals('?lengthM=4'), 'from', 'surveyedM', 'geologicalVolumeM3', 'operationalVolumeM3'),
    ).toEqual([
      ['1+204.000', '4.000', '4.000', '0.000'],
      ['1+208.000', '4.000', '4.000', '0.000'],
      ['1+212.000', '4.000', '2.000', '3.000'],
      ['1+216.000', '4.000', '0.000', '0.000'],
    ]);
  });

  itOnce('lie on the same chainages in a drive that runs against them', async () => {
    await toDrive('BACK', { startChainage: '1+223', endChainage: '1+123', direction: -1 });
    await item('A', '1+214', '1+204', 'geological', { areaM2: '1' });
    expect(cells(await intervals(), 'from', 'to', 'geologicalVolumeM3')).toEqual([
      ['1+220.000', '1+210.000', '4.000'],
      ['1+210.000', '1+200.000', '6.000'],
    ]);
    expect(
      (await put('B', { from: '1+204', to: '1+214', cause: 'operational', areaM2: '1' })).body.detail,
    ).toContain('the drive runs with falling chainage');
  });

  itOnce('are read as of a moment, and by SQL', async () => {
    const [{ made_at: moment }] = await app.sql<{ made_at: Date }>(
      'select max(made_at) as made_at from history.change',
    );
    await app.http.delete(`${url}/overbreak/A`);
    expect(await read(`?asOf=${moment.toISOString()}`)).toMatchObject({ volumeM3: '13.000' });
    expect(await intervals(`?asOf=${moment.toISOString()}`)).toHaveLength(2);
    expect(await read()).toMatchObject({ volumeM3: '3.000', surveyedM: '8.000', maxDepthM: '0.300' });
    expect(
      await app.sql(
        `select sum(volume_m3)::text as m3, sum(theoretical_volume_m3)::text as theory from report.overbreak_by_interval where drive_code = $1`,
        [drive],
      ),
    ).toEqual([{ m3: '3.000', theory: '307.876' }]); // 8 · 38.484510
  });
});

itOnce('are null for a drive without a survey, as is the percentage', async () => {
  expect(await read()).toMatchObject({
    surveyedM: '0.000',
    theoreticalVolumeM3: '0.000',
    volumeM3: '0.000',
    percent: null,
    itemCount: 0,
  });
  expect(await intervals()).toEqual([]);
});

describe('any overbreak, split at any places', () => {
  const LENGTH_MM = 60_000;
  const thousandths = (value: unknown): bigint => BigInt(String(value).replace('.', ''));
  const sum = (rows: Row[], figure: string): bigint =>
    rows.reduce((total, row) => total + thousandths(row[figure]), 0n);
  const places = fc.uniqueArray(fc.integer({ min: 0, max: LENGTH_MM }), { minLength: 2, maxLength: 8 });
  const volume = fc.integer({ min: 0, max: 50_000 });
  const trial = fc.record({ places, volumes: fc.array(volume, { minLength: 7, maxLength: 7 }) });

  it('sums to the whole, to the last digit', async () => {
    let cuts = 0;
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom<1 | -1>(1, -1),
        trial,
        trial,
        fc.integer({ min: 1000, max: 25_000 }),
        async (direction, geological, operational, lengthMm) => {
          cuts += 1;
          const chainage = (mm: number): string => formatChainage(3_003_337 + direction * mm);
          await toDrive(`C${cuts}`, {
            startChainage: chainage(0),
            endChainage: chainage(LENGTH_MM),
            direction,
          });
          const covered = new Set<number>();
          const rows = Object.entries({ geological, operational }).flatMap(([cause, own]) => {
            const ends = own.places.toSorted((a, b) => a - b);
            return ends.slice(1).flatMap((to, n) => {
              const from = ends[n];
              if (n % 3 === 2) return []; // a gap
              for (let mm = from; mm < to; mm += 1) covered.add(mm);
              return [{ name: `${cause}${n}`, from, to, cause, m3: own.volumes[n] }];
            });
          });
          await app.sql(
            `insert into overbreak_item (drive_id, project_id, name, from_m, to_m, cause, volume_m3, volume_surveyed)
             select d.id, d.project_id, r.name, r."from" / 1000.0, r."to" / 1000.0, r.cause, r.m3 / 1000.0, true
             from drive d cross join jsonb_to_recordset($2) as r(name text, "from" int, "to" int, cause overbreak_cause, m3 int) where d.code = $1`,
            [drive, JSON.stringify(rows)],
          );
          const of = (cause: string): bigint =>
            rows.reduce((total, row) => total + (row.cause === cause ? BigInt(row.m3) : 0n), 0n);
          const total = await read();
          const whole = {
            geologicalVolumeM3: of('geological'),
            operationalVolumeM3: of('operational'),
            volumeM3: of('geological') + of('operational'),
            surveyedM: BigInt(covered.size),
            theoreticalVolumeM3: thousandths(total['theoreticalVolumeM3']),
          };
          expect(Math.abs(Number(whole.theoreticalVolumeM3) - 38.48451 * covered.size)).toBeLessThan(1.5);
          for (const query of ['', `?lengthM=${lengthMm / 1000}`]) {
            const parts = await intervals(query);
            for (const [figure, all] of Object.entries(whole)) {
              expect([figure, thousandths(total[figure])]).toEqual([figure, all]);
              expect([query, figure, sum(parts, figure)]).toEqual([query, figure, all]);
            }
          }
        },
      ),
      runs(1, 15),
    );
  });
});
