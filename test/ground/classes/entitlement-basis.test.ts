import type pg from 'pg';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { refusalOf, rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { aTrial, BASIS, type Body } from './trial.js';

/** A baseline of one interval. */
const ONE = {
  workingHoursPerDay: '20',
  intervals: [{ from: '0', to: '1000', groundClass: 'A', advanceRateMPerD: '15' }],
};

let app: TestApp;
let service: pg.Client;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  service = await serviceSession(app.url);
});

afterAll(async () => {
  await service.end();
  await app.close();
});

const put = (url: string, name: string, body: Body) => app.http.put(`${url}/entitlements/${name}`).send(body);

describe('a basis of time entitlement', () => {
  let url: string;
  const items = [
    {
      code: 'bolts',
      source: 'support_item',
      reference: 'BOLT',
      hoursPerUnit: '0.12',
      tenderedQuantity: '12000',
    },
    { code: 'probing', source: 'probe_metres', hoursPerUnit: '0.03', tenderedQuantity: '3000' },
  ];
  const stored = {
    entitlement: 'CONTRACT',
    rule: 'difference',
    baseline: null,
    tenderedWeeks: '52.0000',
    workingHoursPerWeek: '101.00',
    remark: null,
    items: [
      { ...items[0], hoursPerUnit: '0.120000', tenderedQuantity: '12000.000' },
      { ...items[1], reference: null, hoursPerUnit: '0.030000', tenderedQuantity: '3000.000' },
    ],
  };

  beforeAll(async () => {
    url = await aTrial(app, 'BASES', 1000, 0);
  });

  it('is put, read, listed, replaced and removed', async () => {
    const { status, body } = await put(url, 'CONTRACT', { ...BASIS, items });
    expect([status, body]).toEqual([201, stored]);
    expect((await app.http.get(`${url}/entitlements`)).body).toEqual([stored]);
    const [before] = await app.sql<{ n: number }>('select count(*)::int as n from history.change');
    await put(url, 'CONTRACT', { ...BASIS, items });
    expect(await app.sql('select count(*)::int as n from history.change')).toEqual([before]);
    const swapped = [
      { ...items[0], code: 'probing' },
      { ...items[1], code: 'bolts' },
    ];
    expect((await put(url, 'CONTRACT', { ...BASIS, items: swapped })).body.items).toMatchObject([
      { code: 'probing', source: 'support_item' },
      { code: 'bolts', source: 'probe_metres' },
    ]);
    const input = `{ rule: proportional, tenderedWeeks: "10", workingHoursPerWeek: "100", items: [{ code: "x", source: probe_metres, hoursPerUnit: "1", tenderedQuantity: "5" }] }`;
    const at = 'project: "P1", drive: "BASES", entitlement: "G"';
    const query = `{ drive(project: "P1", drive: "BASES") { entitlements { entitlement } entitlement(entitlement: "G") { rule items { source } }
      entitlementResult(entitlement: "G") { extensionWeeks adjustedWeeks lines { kind source differenceHours } } } }`;
    const ask = async (text: string): Promise<Body> =>
      (await app.http.post('/graphql').send({ query: text })).body as Body;
    expect(await ask(`mutation { putEntitlement(${at}, input: ${input}) { rule } }`)).toEqual({
      data: { putEntitlement: { rule: 'proportional' } },
    });
    expect(await ask(query)).toEqual({
      data: {
        drive: {
          entitlements: [{ entitlement: 'CONTRACT' }, { entitlement: 'G' }],
          entitlement: { rule: 'proportional', items: [{ source: 'probe_metres' }] },
          entitlementResult: {
            // nothing is driven, so nothing was due
            extensionWeeks: '0.0000',
            adjustedWeeks: '10.0000',
            lines: [{ kind: 'item', source: 'probe_metres', differenceHours: '0.0000' }],
          },
        },
      },
    });
    expect(await ask(`mutation { removeEntitlement(${at}) }`)).toEqual({ data: { removeEntitlement: true } });
    for (const answer of [
      await app.http.get(`${url}/entitlements/G`),
      await app.http.get(`${url}/entitlements/G/result`),
      await app.http.delete(`${url}/entitlements/G`),
    ])
      expect([answer.status, answer.body.detail]).toEqual([404, 'There is no entitlement G in drive BASES.']);
  });

  it('that is invalid is refused, and nothing is written', async () => {
    const before = await app.contents();
    const [bolts, probing] = items;
    const cases: [Body, string, RegExp][] = [
      [{ items: [] }, '/items', /^a basis of time entitlement needs a baseline, items, or both$/],
      [{ baseline: 'NONE' }, '/baseline', /^baseline NONE is not in the drive$/],
      [{ rule: 'other' }, '/rule', /difference/],
      [{ tenderedWeeks: '0' }, '/tenderedWeeks', /from 0\.0001/],
      [{ workingHoursPerWeek: '168.5' }, '/workingHoursPerWeek', /to 168/],
      [{ items: undefined }, '/items', /^items is missing$/],
      [
        { items: [{ ...bolts, reference: 'NONE' }] },
        '/items/0/reference',
        /^support item NONE is not in the project: its support items are BOLT, /,
      ],
      [
        { items: [{ ...bolts, source: 'activity_hours' }] },
        '/items/0/reference',
        /^activity code BOLT is not in the project: its activity codes are BORE, /,
      ],
      [
        { items: [{ ...bolts, source: 'class_metres' }] },
        '/items/0/reference',
        /^ground class BOLT is not in the project: its ground classes are A, B/,
      ],
      [
        { items: [{ ...bolts, reference: undefined }] },
        '/items/0/reference',
        /^support_item needs the reference of a support item$/,
      ],
      [{ items: [{ ...probing, reference: 'BOLT' }] }, '/items/0/reference', /has no reference$/],
      [
        { items: [bolts, { ...probing, code: 'bolts' }] },
        '/items/1/code',
        /^item 1 has the code bolts already$/,
      ],
      [
        { items: [bolts, { ...bolts, code: 'more' }] },
        '/items/1/reference',
        /^item 1 counts support item BOLT already$/,
      ],
      [
        { items: [probing, { ...probing, code: 'more' }] },
        '/items/1/reference',
        /^item 1 counts probe holes already$/,
      ],
      [{ items: [{ ...bolts, hoursPerUnit: '0' }] }, '/items/0/hoursPerUnit', /from 0\.000001/],
      [{ items: [{ ...bolts, tenderedQuantity: '-1' }] }, '/items/0/tenderedQuantity', /from 0/],
      [{ items: [{ ...bolts, source: 'weather' }] }, '/items/0/source', /support_item/],
      [{ items: [{ ...bolts, unit: 'nr' }] }, '/items/0/unit', /should not exist/],
    ];
    for (const [more, pointer, detail] of cases) {
      const { status, body } = await put(url, 'BAD', { ...BASIS, items, ...more });
      expect([status, body.errors]).toEqual([
        422,
        expect.arrayContaining([expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })]),
      ]);
    }
    expect((await put('/v1/projects/P1/drives/NONE', 'BAD', { ...BASIS, items })).status).toBe(404);
    expect(await app.contents()).toBe(before);
  });

  it('is checked by the database too', async () => {
    const [project] = await app.sql<{ id: number }>(`select id from project where code = 'P1'`);
    const refusal = async (sql: string): Promise<string | undefined> =>
      (await refusalOf(service, project?.id, sql)).constraint;
    const other = await aTrial(app, 'OTHER', 1000, 0);
    await app.http.put(`${other}/baselines/O`).send(ONE);
    await put(other, 'T', { ...BASIS, baseline: 'O', items: [] });
    const item = `update public.entitlement_item set`;
    expect([
      await refusal(
        `update public.entitlement set baseline_id = (select id from public.baseline where name = 'O') where name = 'CONTRACT'`,
      ),
      await refusal(`${item} reference = 'NONE' where source = 'support_item'`),
      await refusal(`${item} reference = 'BOLT' where source = 'probe_metres'`),
      await refusal(`${item} hours_per_unit = 0`),
      await refusal(`delete from public.baseline where name = 'O'`),
    ]).toEqual([
      'entitlement_of_its_drive',
      'entitlement_item_known',
      'entitlement_item_reference',
      'entitlement_item_quantities',
      'entitlement_baseline_id_project_id_fkey',
    ]);
  });

  it('and all that functions report, is limited to the project of the scope', async () => {
    await aProject(app, { project: 'P2' });
    const projects = await app.sql<{ id: number; code: string }>(
      `select id, code from project order by code`,
    );
    const asked = [
      `ground_strip('P1', 'MET')`,
      `baseline_strip('P1', 'MET', 'O')`,
      `baseline_cross('P1', 'MET', 'O')`,
      `baseline_against_encountered('P1', 'MET', 'O')`,
      `entitlement_line('P1', 'MET', 'T', 'to_date')`,
      `entitlement_result('P1', 'MET', 'T', 'to_date')`,
      `governing_class_of((select id from public.drive where code = 'MET'))`,
      'governing_class_of($1)',
    ];
    const met = await aTrial(app, 'MET', 1000, 10, [[0, 5, 'A']]);
    await app.http.put(`${met}/baselines/O`).send(ONE);
    await put(met, 'T', { ...BASIS, baseline: 'O', items: [] });
    const [drive] = await app.sql<{ id: number }>(`select id from drive where code = 'MET'`);
    for (const { id, code } of projects)
      for (const from of asked) {
        const rows = await takenBack(service, id, () =>
          rowsOf(service, `select 1 from ${from}`, from.includes('$1') ? [drive?.id] : []),
        );
        expect([code, from, rows.length > 0]).toEqual([code, from, code === 'P1']);
      }
  });
});
