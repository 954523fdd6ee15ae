import { app, drive, toDrive, url, ownDrives } from '../../harness/own-drives.js';
import { foundAt } from '../../harness/service-role.js';

// Indications against encounters: one invented stretch, worked out by hand, with rising and with falling chainage.

type Row = Record<string, unknown>;

ownDrives('I');

const put = async (path: string, body: object): Promise<Row> => {
  const answer = await app.http.put(`${url}${path}`).send(body);
  if (answer.status >= 300) throw new Error(answer.text);
  return answer.body as Row;
};

const read = async (path: string): Promise<Row[]> => (await app.http.get(`${url}${path}`)).body as Row[];

/** Metres bored from the start, without times. */
const boredTo = (metres: number) =>
  app.sql(
    `insert into boring (drive_id, project_id, stroke_number, from_m, to_m)
      select d.id, d.project_id, b.n, b.from_m, $2 from drive d
      cross join lateral (select count(*)::int + 1 as n, coalesce(max(to_m), 0) as from_m from boring where drive_id = d.id) b where d.code = $1`,
    [drive, metres],
  );

const WAYS = [
  { way: 'rising', direction: 1 as const, start: 1200 },
  { way: 'falling', direction: -1 as const, start: 2200 },
];

const chainage = (m: number): string => {
  const [km, rest] = [Math.floor(m / 1000), m % 1000];
  return `${km}+${rest.toFixed(3).padStart(7, '0')}`;
};

describe.each(WAYS)('a drive of $way chainage', ({ way, direction, start }) => {
  const at = (m: number): string => chainage(start + direction * m);

  beforeEach(async () => {
    await toDrive(`${drive}-${way}`, {
      startChainage: chainage(start),
      endChainage: chainage(start + direction * 1000),
      direction,
    });
    await put('', {
      ...{ name: 'Trial', startChainage: chainage(start), endChainage: chainage(start + direction * 1000) },
      ...{ direction, boredDiameterM: '7', indicationToleranceM: '1' },
    });
    await put('/investigations/RS1', {
      ...{ method: 'reflection_seismic', from: at(10), to: at(100), face: at(10) },
      ...{ madeAt: '2026-01-10T00:00:00Z', madeBy: 'G. Seismic' },
      indications: [
        { key: 'A', kind: 'fractured', from: at(20), to: at(24), uncertaintyM: '2' },
        { key: 'B', kind: 'fractured', from: at(30), to: at(32), uncertaintyM: '1' },
        {
          ...{ key: 'C', kind: 'water_bearing', from: at(50), to: at(55) },
          ...{ fromUncertaintyM: '3', toUncertaintyM: '2' },
        },
        { key: 'D', kind: 'void', from: at(90), to: at(92), uncertaintyM: '2' },
      ],
    });
  });

  const met = () =>
    Promise.all([
      put('/encounters/E1', {
        ...{ kind: 'fractured', from: at(25), to: at(29), source: 'boring' },
        ...{ metAt: '2026-01-20T12:00:00Z', metBy: 'M. Apper' },
      }),
      put('/encounters/E2', {
        ...{ kind: 'gas', from: at(70), to: at(70), source: 'mapping', face: at(71) },
        ...{ metAt: '2026-02-01T00:00:00Z', metBy: 'M. Apper' },
      }),
      put('/probe-holes/PH1', {
        ...{ collar: at(40), lookOutDeg: '0', lengthM: '30', waterInflowLPerMin: '4', waterDepthM: '12' },
        drilledAt: '2026-01-25T00:00:00Z',
      }),
    ]);

  it('is matched by the greatest overlap of widened stretches, and assessed once the face has passed', async () => {
    await met();
    await boredTo(80);
    // A reaches 20 - 2 - 1 = 17 to 24 + 2 + 1 = 27: 2 m of E1, 25 to 29. B reaches 28 to 34: 1 m of it. E1 is matched with A; B stays unmatched.
    // C reaches 46 to 58 and contains the water at 40 + 12 = 52. D is decided from 92 + 2 + 1 = 95, and the face is at 80.
    const indications = await read('/indications');
    expect(
      indications.map(
        ({ key, outcome, encounter, isFromHole, overlapM, positionErrorM, leadM, leadDays, judgedFrom }) => [
          ...[key, outcome, encounter, isFromHole, overlapM, positionErrorM, leadM, leadDays, judgedFrom],
        ],
      ),
    ).toEqual([
      ['A', 'hit', 'E1', false, '2.000', '5.000', '15.000', '10.50', at(27)], // 25 - 20; face 25 - 10; 10 Jan 00:00 to 20 Jan 12:00
      ['B', 'false_alarm', null, null, null, null, null, null, at(34)],
      ['C', 'hit', 'PH1', true, '0.000', '2.000', '30.000', '15.00', at(58)], // 52 - 50; collar 40 - 10; 10 to 25 Jan
      ['D', 'open', null, null, null, null, null, null, at(95)],
    ]);
    expect(indications[0]).toMatchObject({
      ...{ investigation: 'RS1', method: 'reflection_seismic', madeBy: 'G. Seismic', face: at(10) },
      ...{ from: at(20), to: at(24), metFrom: at(25), metTo: at(29) },
    });
    const encounters = await read('/encounter-outcomes');
    expect(encounters.map(({ encounter, outcome, key }) => [encounter, outcome, key])).toEqual([
      ['E1', 'matched', 'A'],
      ['PH1', 'matched', 'C'],
      ['E2', 'missed', null],
    ]);
    expect(await read('/indication-scores')).toEqual([
      {
        ...{ method: 'reflection_seismic', methodName: null, investigationCount: 1, indicationCount: 4 },
        ...{ openCount: 1, hitCount: 2, falseAlarmCount: 1, missedCount: 1 },
        ...{ hitPercent: null, indicatedPercent: null }, // of 3
        ...{
          meanPositionErrorM: '3.500',
          meanAbsolutePositionErrorM: '3.500',
          largestPositionErrorM: '5.000',
        }, // (5 + 2) / 2
        ...{ meanLeadM: '22.500', leastLeadM: '15.000', meanLeadDays: '12.75', leastLeadDays: '10.50' },
        caution: expect.stringContaining('Decision support'),
      },
    ]);
  });

  it('counts from the very moment at which it was made', async () => {
    await boredTo(30);
    const counted = (instant: string) =>
      foundAt(
        app,
        instant,
        `select (select count(*) from report_as_of.indication_outcome_of(d.id))::int as outcomes,
          (select sum(indication_count) from report_as_of.indication_score where drive_id = d.id)::int as scored,
          (select count(*) from report_as_of.as_built_register('P1', d.code, 0, 9999) where record in ('investigation', 'indication'))::int as registered
        from drive d where d.code = $1`,
        [drive],
      );
    expect(await counted('2026-01-09T23:59:59.999Z')).toEqual([{ outcomes: 0, scored: null, registered: 0 }]);
    expect(await counted('2026-01-10T00:00:00Z')).toEqual([{ outcomes: 4, scored: 4, registered: 5 }]);
  });

  it('is open until the last millimetre, and can be read as of any moment', async () => {
    await boredTo(33.999);
    const before = new Date().toISOString();
    expect((await read('/indications')).map(({ outcome }) => outcome)).toEqual([
      ...['false_alarm', 'open', 'open', 'open'],
    ]);
    await boredTo(34);
    await met();
    expect((await read('/indications')).map(({ outcome }) => outcome)).toEqual([
      ...['hit', 'false_alarm', 'open', 'open'],
    ]);
    // the hole has met the water of C, which the face has not passed yet
    expect((await read('/indications'))[2]).toMatchObject({ encounter: 'PH1', outcome: 'open' });
    const then = await read(`/indications?asOf=${before}`);
    expect(then.map(({ outcome }) => outcome)).toEqual(['false_alarm', 'open', 'open', 'open']);
    expect(await read(`/indication-scores?asOf=${before}`)).toMatchObject([
      { falseAlarmCount: 1, openCount: 3, hitCount: 0 },
    ]);
  });

  it('counts neither what was met before nor what the hole itself met', async () => {
    await met();
    await boredTo(100);
    await put('/investigations/PH1', {
      ...{ method: 'probe_hole', probeHole: 'PH1', from: at(40), to: at(70), face: at(40) },
      ...{ madeAt: '2026-01-24T23:00:00Z', madeBy: 'Driller' },
      indications: [{ key: 'W', kind: 'water_bearing', from: at(52), to: at(52), uncertaintyM: '1' }],
    });
    const own = (await read('/indications')).find(({ key }) => key === 'W');
    expect(own).toMatchObject({ outcome: 'false_alarm', encounter: null });
    await put('/encounters/E3', {
      ...{ kind: 'water_bearing', from: at(53), to: at(54), source: 'boring' },
      ...{ metAt: '2026-01-28T00:00:00Z', metBy: 'M. Apper' },
    });
    await put('/encounters/E0', {
      ...{ kind: 'water_bearing', from: at(51), to: at(54), source: 'mapping' },
      ...{ metAt: '2026-01-09T00:00:00Z', metBy: 'M. Apper' },
    });
    const all = await read('/indications');
    expect(all.find(({ key }) => key === 'W')).toMatchObject({ outcome: 'hit', encounter: 'E3' });
    // for the seismic survey, C contains 1 m of E3 and the point met by PH1, which is therefore no miss
    expect(all.find(({ key }) => key === 'C')).toMatchObject({ outcome: 'hit', encounter: 'E3' });
    const seismic = (await read('/encounter-outcomes')).filter(
      ({ investigation }) => investigation === 'RS1',
    );
    expect(seismic.map(({ encounter, outcome }) => [encounter, outcome])).toEqual([
      ['E1', 'matched'],
      ['PH1', 'covered'],
      ['E3', 'matched'],
      ['E2', 'missed'],
    ]);
  });

  it('counts water and voids in the log of a hole, where they lie along the axis', async () => {
    await boredTo(100);
    const hole = { collar: at(40), lookOutDeg: '0', lengthM: '60', drilledAt: '2026-01-25T00:00:00Z' };
    await put('/probe-holes/PH1', {
      ...{ ...hole, waterInflowLPerMin: '9', waterDepthM: '12' },
      log: [
        { fromM: '0', toM: '9', waterInflowLPerMin: '0' },
        { fromM: '9', toM: '12', waterInflowLPerMin: '5' }, // 49 to 52 and
        { fromM: '12', toM: '15', waterPressureBar: '2' }, // 52 to 55, adjacent, so one encounter of water, together with the note at 12 m
        { fromM: '30', toM: '31', waterInflowLPerMin: '0', waterPressureBar: '1' }, // no inflow was read, so the pressure counts
        { fromM: '48', toM: '50', isVoid: true, waterInflowLPerMin: '4' }, // 88 to 90, both a void and water
      ],
    });
    await put('/probe-holes/PH2', { ...hole, waterInflowLPerMin: '3', waterDepthM: '20', log: [] }); // at 60
    await put('/probe-holes/PH3', {
      ...hole,
      drilledAt: null,
      log: [{ fromM: '9', toM: '12', isVoid: true }],
    });
    // C, 50 to 55 from 47 - 1 to 57 + 1: overlap 6 m from 49, 1 m before its start; D, 90 to 92 from 87 to 95: 2 m from 88
    const found = (await read('/indications')).filter(({ key }) => key === 'C' || key === 'D');
    expect(found).toMatchObject([
      {
        ...{ key: 'C', outcome: 'hit', encounter: 'PH1', isFromHole: true, overlapM: '6.000' },
        ...{ positionErrorM: '-1.000', metFrom: at(49), metTo: at(55), leadM: '30.000', leadDays: '15.00' },
      },
      {
        ...{ key: 'D', outcome: 'hit', encounter: 'PH1', isFromHole: true, overlapM: '2.000' },
        ...{ positionErrorM: '-2.000', metFrom: at(88), metTo: at(90) },
      },
    ]);
    // not indicated: the water of PH2 at 60 and that of PH1 from 88
    const outcomes = (await read('/encounter-outcomes')).map(({ encounter, kind, from, to, outcome, key }) =>
      [encounter, kind, from, to, outcome, key].join(' ').trim(),
    );
    expect(outcomes.toSorted()).toEqual(
      [
        `PH1 water_bearing ${at(49)} ${at(55)} matched C`,
        `PH1 void ${at(88)} ${at(90)} matched D`,
        `PH1 water_bearing ${at(88)} ${at(90)} missed`,
        `PH2 water_bearing ${at(60)} ${at(60)} missed`,
      ].toSorted(),
    );
  });

  it('places what a hole met to the nearest millimetre, and a log without inflow or pressure does not stand for its note', async () => {
    await boredTo(100);
    // 30 m at 5° reach 29.886 m: a void from 8 m begins at 40 + 8 · 29.886 / 30 = 47.9696, the note at 12 m lies at 40 + 11.9544
    await put('/probe-holes/PH1', {
      ...{ collar: at(40), lookOutDeg: '5', lengthM: '30', drilledAt: '2026-01-25T00:00:00Z' },
      ...{ waterInflowLPerMin: '9', waterDepthM: '12' },
      log: [
        { fromM: '8', toM: '10', isVoid: true },
        { fromM: '11', toM: '13', waterPressureBar: '0' },
      ],
    });
    const found = (await read('/encounter-outcomes')).map(({ kind, from, to }) => [kind, from, to]);
    expect(found.toSorted()).toEqual(
      [
        ['void', at(47.97), at(49.962)],
        ['water_bearing', at(51.954), at(51.954)],
      ].toSorted(),
    );
  });

  it('scores to a tenth of a percent, of ten cases and more', async () => {
    const indications = Array.from({ length: 12 }, (_, n) => {
      const place = at(110 + 10 * n);
      return { key: `K${n}`, kind: 'void', from: place, to: place };
    });
    await put('/investigations/RE1', {
      ...{ method: 'resistivity', from: at(105), to: at(300), face: at(100), indications },
      ...{ madeAt: '2026-01-10T00:00:00Z', madeBy: 'Ada' },
    });
    // eleven of twelve indications were met, and one encounter was not indicated: 11 / 12 = 91.67 % either way
    for (const m of [...Array.from({ length: 11 }, (_, n) => 110 + 10 * n), 255])
      await put(`/encounters/V${m}`, {
        ...{ kind: 'void', from: at(m), to: at(m), source: 'boring' },
        ...{ metAt: '2026-01-20T12:00:00Z', metBy: 'M. Apper' },
      });
    await boredTo(300);
    const scores = (await read('/indication-scores')).filter(({ method }) => method === 'resistivity');
    expect(scores).toMatchObject([
      {
        ...{ hitCount: 11, falseAlarmCount: 1, missedCount: 1 },
        ...{ hitPercent: '91.7', indicatedPercent: '91.7' },
      },
    ]);
  });

  it('is assessed at the end of the drive where its uncertainty reaches beyond it', async () => {
    await put('/investigations/RS2', {
      ...{ method: 'other', methodName: 'Georadar', from: at(960), to: at(1000), face: at(950) },
      ...{ madeAt: '2026-02-10T00:00:00Z', madeBy: 'Ada' },
      indications: [{ key: 'Z', kind: 'void', from: at(990), to: at(999), uncertaintyM: '5' }],
    });
    await boredTo(1000);
    expect((await read(`/indications?from=${at(980)}`))[0]).toMatchObject({
      ...{ key: 'Z', outcome: 'false_alarm', judgedFrom: at(1000), methodName: 'Georadar' },
    });
    expect(
      (await read('/indication-scores')).map(({ method, methodName, falseAlarmCount }) => [
        method,
        methodName,
        falseAlarmCount,
      ]),
    ).toEqual([
      ['other', 'Georadar', 1],
      ['reflection_seismic', null, 4],
    ]);
  });

  it('refuses invalid input, naming field, value and rule', async () => {
    const made = { madeAt: '2026-02-10T00:00:00Z', madeBy: 'Ada' };
    const refused = async (path: string, body: object): Promise<unknown[]> => {
      const answer = await app.http.put(`${url}${path}`).send(body);
      expect(answer.status).toBe(422);
      return (answer.body.errors as Row[]).map(({ pointer, value, detail }) => [pointer, value, detail]);
    };
    expect(
      await refused('/investigations/X', {
        ...{
          method: 'resistivity',
          methodName: 'ERT',
          probeHole: 'PH9',
          from: at(5),
          to: at(50),
          face: at(10),
          ...made,
        },
        indications: [
          { key: 'A', kind: 'void', from: at(30), to: at(29) },
          { key: 'A', kind: 'void', from: at(30), to: at(51), uncertaintyM: '1', toUncertaintyM: '2' },
        ],
      }),
    ).toEqual([
      ['/methodName', 'ERT', 'methodName is for method other; the method is resistivity'],
      ['/probeHole', 'PH9', 'probeHole is for method probe_hole; the method is resistivity'],
      ['/from', at(5), `from ${at(5)} lies behind the face at ${at(10)}`],
      [
        '/indications/0/to',
        at(29),
        `to ${at(29)} lies behind from ${at(30)}: the drive runs with ${way} chainage`,
      ],
      ['/indications/1/key', 'A', 'key A is used twice'],
      ['/indications/1/to', at(51), `${at(51)} lies outside the range investigated, ${at(5)} to ${at(50)}`],
      [
        ...['/indications/1/uncertaintyM', '1'],
        'uncertaintyM applies to both ends: omit it, or fromUncertaintyM and toUncertaintyM',
      ],
    ]);
    const range = { from: at(20), to: at(50), face: at(10), ...made };
    expect(await refused('/investigations/X', { method: 'other', ...range })).toEqual([
      ['/methodName', undefined, 'method other needs methodName'],
    ]);
    expect(await refused('/investigations/X', { method: 'probe_hole', probeHole: 'PH9', ...range })).toEqual([
      ['/probeHole', 'PH9', `probe hole PH9 not found in drive ${drive}`],
    ]);
    expect(
      await refused('/encounters/X', {
        ...{ kind: 'void', from: at(1001), to: at(20), source: 'boring', metAt: made.madeAt, metBy: 'M.' },
      }),
    ).toEqual([['/from', at(1001), expect.stringContaining('lies beyond the end of the drive')]]);
  });
});

it('is put, read, replaced and removed in the same way by REST and by GraphQL', async () => {
  const input = {
    ...{ method: 'resistivity', from: '1+210.000', to: '1+300.000', face: '1+210.000' },
    ...{ madeAt: '2026-01-10T00:00:00+00:00', madeBy: 'G. Seismic' },
  };
  const one = { key: 'A', kind: 'gas', from: '1+220.000', to: '1+220.000' };
  const put1 = await put('/investigations/R', { ...input, indications: [{ ...one, uncertaintyM: '2.5' }] });
  const stored = {
    ...{ ...input, name: 'R', methodName: null, probeHole: null, remark: null },
    indications: [{ ...one, fromUncertaintyM: '2.500', toUncertaintyM: '2.500', remark: null }],
  };
  expect(put1).toEqual(stored);
  expect(await put('/investigations/R', put1)).toEqual(stored);
  const met = await put('/encounters/G', {
    ...{
      kind: 'gas',
      from: '1+221',
      to: '1+222',
      source: 'boring',
      metAt: '2026-01-12T00:00:00Z',
      metBy: 'M.',
    },
  });
  await boredTo(50);
  const graphql = async (query: string): Promise<Row> => {
    const { body } = await app.http.post('/graphql').send({ query });
    if (body.errors) throw new Error(JSON.stringify(body.errors));
    return body.data as Row;
  };
  const [outcome] = await read('/indications');
  const [of] = await read('/encounter-outcomes');
  const [score] = await read('/indication-scores');
  const names = (row?: Row): string => Object.keys(row ?? {}).join(' ');
  const answer = await graphql(`{ drive(project: "P1", drive: "${drive}") {
    investigations { nodes { ${names({ ...stored, indications: 0 }).replace('indications', '')} indications { ${names(stored.indications[0])} } } }
    encounters { nodes { ${names(met)} } }
    indications { ${names(outcome)} } encounterOutcomes { ${names(of)} } indicationScores { ${names(score)} } } }`);
  expect(answer).toEqual({
    drive: {
      ...{ investigations: { nodes: [stored] }, encounters: { nodes: [met] } },
      ...{ indications: [outcome], encounterOutcomes: [of], indicationScores: [score] },
    },
  });
  expect(outcome).toMatchObject({ outcome: 'hit', encounter: 'G', positionErrorM: '1.000' });
  const place = `project: "P1", drive: "${drive}"`;
  expect(
    await graphql(
      `mutation { removeInvestigation(${place}, name: "R") removeEncounter(${place}, name: "G") }`,
    ),
  ).toEqual({ removeInvestigation: true, removeEncounter: true });
  expect((await app.http.delete(`${url}/investigations/R`)).body.detail).toBe(
    `There is no investigation R in drive ${drive}.`,
  );
  expect((await app.http.get(`${url}/encounters/G`)).status).toBe(404);
});
