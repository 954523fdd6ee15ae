import { wholeRecord } from '../../builders/whole-record.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A drive with entries in every register: strokes 0–10 m, a class decision 5–15 m, a log 0–10 m, a discontinuity at 5 m,
// overbreak 2–4 m, a probe hole from 29 m on with a water test, a photo at 10 m, an investigation of 0–40 m that indicated fractured ground
// at 4–6 m, which was met at 5–7 m, inflow measured over 0–10 m, a hold point at 200 m, a standard of 1 bolt a metre and a section of 2 from 5 to 8 m.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await app.sql(wholeRecord(1, 'ALPHA'));
});

afterAll(() => app.close());

const REGISTERS = [
  'classDecisions',
  'groundLogs',
  'discontinuities',
  'overbreak',
  'probeHoles',
  'attachments',
] as const;

const AHEAD = [
  ...(['investigations', 'indications', 'encounters'] as const),
  ...(['holdPoints', 'inflow', 'waterTests'] as const),
] as const;

type Registers = Record<
  (typeof REGISTERS)[number] | (typeof AHEAD)[number] | 'strokes' | 'supportRequired',
  Record<string, unknown>[]
>;

const asBuilt = async (from: string, to: string): Promise<Registers> => {
  const { status, body } = await app.http.get(
    `/v1/projects/ALPHA/drives/N/as-built?from=${encodeURIComponent(from)}&to=${encodeURIComponent(to)}`,
  );
  expect(status).toBe(200);
  return body as Registers;
};

const counts = (found: Registers): number[] => REGISTERS.map((register) => found[register].length);

it('the record contains the entries of every register in the interval', async () => {
  const found = await asBuilt('1+000', '1+030');
  expect(counts(found)).toEqual([1, 1, 1, 1, 1, 1]);
  expect(found).toMatchObject({
    classDecisions: [{ number: 1, state: 'proposed', groundClass: 'A', proposedBy: expect.any(String) }],
    groundLogs: [{ name: 'GL-ALPHA', mappedBy: 'geologist of ALPHA' }],
    discontinuities: [{ name: 'D-ALPHA', set: 'J1' }],
    overbreak: [{ name: 'O-ALPHA', volumeM3: '1.500', cause: 'geological' }],
    probeHoles: [{ name: 'H-ALPHA', collar: '1+029.000' }],
    attachments: [{ fileName: 'face of ALPHA.jpg', from: '1+010.000' }],
  });
  expect(found.strokes.map(({ number, isSampled }) => [number, isSampled])).toEqual([
    [1, true], // a sample at 06:30, of a boring from 06:00 to 08:00
    [2, false], // without times
  ]);
});

it('the record contains what was found ahead of the face, and its outcome', async () => {
  expect(await asBuilt('1+000', '1+030')).toMatchObject({
    investigations: [
      { name: 'V-ALPHA', from: '1+000.000', to: '1+040.000', indications: [{ key: 'I-ALPHA' }] },
    ],
    // encountered at 5, indicated at 4
    indications: [
      {
        ...{ investigation: 'V-ALPHA', key: 'I-ALPHA', outcome: 'hit', encounter: 'E-ALPHA' },
        positionErrorM: '1.000',
      },
    ],
    encounters: [{ name: 'E-ALPHA', from: '1+005.000', to: '1+007.000' }],
    holdPoints: [],
    inflow: [{ name: 'W-ALPHA', inflowLPerMin: '4.000' }],
    waterTests: [
      { name: 'WT-ALPHA', hole: 'H-ALPHA', representativeLu: '12.000', steps: [{ lugeon: '12.000' }] },
    ],
  });
  const { holdPoints } = await asBuilt('1+200', '1+201');
  expect(holdPoints).toMatchObject([
    {
      code: 'HP-ALPHA',
      isReleased: true,
      releases: [{ evidence: 'Cored hole of ALPHA', withdrawnAt: null }],
    },
  ]);
});

it.each([
  ['1+000', '1+002', [1, 0, 0, 0, 1, 0]],
  ['1+000', '1+005', [1, 1, 0, 0, 1, 0]],
  ['1+005', '1+006', [1, 1, 1, 0, 1, 0]],
  ['1+010', '1+029', [1, 0, 0, 0, 0, 0]],
  ['1+029', '1+040', [1, 0, 0, 0, 0, 1]], // at the collar of its hole
  ['1+040', '1+200', [0, 0, 0, 0, 0, 0]],
  ['1+200', '1+200.001', [0, 0, 0, 1, 0, 0]],
])('from %s to %s it contains the entries that touch it, by SQL too', async (from, to, expected) => {
  const found = await asBuilt(from, to);
  expect(AHEAD.map((register) => found[register].length)).toEqual(expected);
  const names = ['investigation', 'indication', 'encounter', 'hold_point', 'inflow', 'water_test'];
  const metres = (chainage: string): string => chainage.replace('+', '');
  const rows = await app.sql<{ record: string }>(
    `select record from report.as_built_register('ALPHA', 'N', $1, $2)`,
    [metres(from), metres(to)],
  );
  expect(names.map((name) => rows.filter(({ record }) => record === name).length)).toEqual(expected);
});

it('compares the support required within it with what is installed', async () => {
  const { supportRequired } = await asBuilt('1+005', '1+008');
  // the section demands 2 per metre over 3 m; of 8 bolts over 10 m, those at 5.625 and 6.875 lie within (0.625 + 1.25 i)
  expect(supportRequired).toEqual([
    expect.objectContaining({ item: 'BOLT', from: '1+005.000', to: '1+008.000', installed: '2.000' }),
  ]);
  expect(Number(supportRequired[0]!.required)).toBe(6);
});

it.each([
  // half open along the drive: records that begin at the end of the interval, or end at its beginning, are not in it
  ['1+000', '1+002', [0, 1, 0, 0, 0, 0]],
  ['1+000', '1+005', [0, 1, 0, 1, 0, 0]],
  ['1+005', '1+006', [1, 1, 1, 0, 0, 0]],
  ['1+010', '1+011', [1, 0, 0, 0, 0, 1]],
  ['1+004', '1+005', [0, 1, 0, 0, 0, 0]],
  ['1+015', '1+016', [0, 0, 0, 0, 0, 0]],
  ['1+058', '1+060', [0, 0, 0, 0, 1, 0]], // the hole reaches 29 + 29.886 m
  ['1+058.886', '1+060', [0, 0, 0, 0, 0, 0]],
])('from %s to %s it contains only the entries that touch it, by SQL too', async (from, to, expected) => {
  expect(counts(await asBuilt(from, to))).toEqual(expected);
  const names = ['class_decision', 'ground_log', 'discontinuity', 'overbreak', 'probe_hole', 'attachment'];
  const rows = await app.sql<{ record: string }>(
    `select record from report.as_built_register('ALPHA', 'N', $1, $2)`,
    [from, to].map((chainage) => chainage.replace('+', '')),
  );
  expect(names.map((name) => rows.filter(({ record }) => record === name).length)).toEqual(expected);
});

it('the record contains the photo of a log without a place of its own', async () => {
  await app.sql(`insert into attached_file (id, project_id, drive_id, number, digest, file_name, media_type, size_bytes, subject_kind, subject_name)
    values (900, 1, 1, 9, encode(sha256('log'), 'hex'), 'log.jpg', 'image/jpeg', 3, 'ground_log', 'GL-ALPHA')`);
  expect((await asBuilt('1+003', '1+004')).attachments.map(({ fileName }) => fileName)).toEqual(['log.jpg']);
  expect((await asBuilt('1+012', '1+013')).attachments).toEqual([]);
});

it('the record is the same by GraphQL, and by SQL except for entries without a place', async () => {
  const fields = [...REGISTERS, ...AHEAD].map((register) => `${register} { __typename }`).join(' ');
  const query = `{ drive(project: "ALPHA", drive: "N") { asBuilt(from: "1+000", to: "1+030") { ${fields} } } }`;
  const { body } = await app.http.post('/graphql').send({ query });
  expect(counts(body.data.drive.asBuilt)).toEqual(counts(await asBuilt('1+000', '1+030')));
  const ahead = await asBuilt('1+000', '1+030');
  for (const register of AHEAD)
    expect(body.data.drive.asBuilt[register]).toHaveLength(ahead[register].length);
  const rows = await app.sql<{ record: string; n: number }>(
    `select record, count(*)::int as n from report.as_built_register('ALPHA', 'N', 1000, 1030) group by record order by record`,
  );
  expect(rows.filter(({ record }) => record !== 'support_required')).toEqual(
    [
      ...['attachment', 'class_decision', 'discontinuity', 'encounter', 'ground_log', 'indication', 'inflow'],
      ...['investigation', 'overbreak', 'probe_hole', 'water_test'],
    ].map((record) => ({ record, n: 1 })),
  );
  expect(
    await app.sql(
      `select reference, state, recorded_by, remark from report.as_built_register('ALPHA', 'N', 1000, 1300) where record in ('hold_point', 'indication') order by record`,
    ),
  ).toEqual([
    expect.objectContaining({ reference: 'HP-ALPHA', state: 'released', remark: 'Cored hole of ALPHA' }),
    expect.objectContaining({ reference: 'V-ALPHA I-ALPHA', state: 'hit' }),
  ]);
});

// to three digits, by hand
it.each([
  [0.586666666667, '0.587'],
  [0.001, '0.001'],
  [2.475, '2.48'],
  [90, '90'],
  [1234.5, '1230'],
])('writes Q %d as %s', async (q, text) => {
  await app.sql(`update ground_log_sheet set (q_edition, q_location, q_jn_row, q_jn, q_jr_row, q_jr, q_jr_spacing_above_3m, q_ja_row, q_ja, q_jw_row, q_jw,
      q_srf_row, q_srf, q, q_class, rqd_percent, q_rqd_percent, q_jn_counted, q_jr_counted)
    = ('q-2013', 'normal', 'A', 1, 'A', 1, false, 'A', 1, 'A', 1, 'A', 1, ${q}, 'poor', 90, 90, 1, 1) where name = 'GL-ALPHA'`);
  const [log] = await app.sql<{ description: string }>(
    `select description from report.as_built_register('ALPHA', 'N', 1000, 1030) where record = 'ground_log'`,
  );
  expect(log?.description.split(', ')).toContain(`Q ${text}`);
});
