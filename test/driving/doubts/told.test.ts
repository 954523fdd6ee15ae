import { DoubtedRecord } from '../../../src/features/driving/doubts/doubt.models.js';
import { aShift } from '../../builders/shift.js';
import { sampled } from '../../engineering/sampled-drive.js';
import { app, drive, ownDrives, url } from '../../harness/own-drives.js';
import { asUploaded, uploadLines } from '../samples/samples.js';
import { bore, CLEAN, SPAN } from '../samples/trial.js';

// Every write of something that can be doubted tells its doubts, those that record-doubts lists.

ownDrives('DT');

beforeAll(() => app.sql('delete from doubt_limit')); // the defaults count

const DAY = '2027-03-01';
const MADE_AT = `${DAY}T12:00:00Z`;
const SHIFT = `/shifts/${DAY}/day`;

interface Told {
  doubt?: string;
  name?: string;
}

/** What a write tells: the doubts beside the record, or among the open items of a shift. */
const told = ({ doubts, openItems }: { doubts?: Told[]; openItems?: Told[] }): string[] =>
  (doubts ?? openItems ?? []).flatMap(({ doubt, name }) => (doubt ? [`${doubt} ${name}`] : [])).sort();

const listed = async (record: DoubtedRecord): Promise<string[]> =>
  told({
    doubts: ((await app.http.get(`${url}/record-doubts`)).body as (Told & { record: string })[]).filter(
      (each) => each.record === record,
    ),
  });

const put = async (path: string, body: object): Promise<object> => {
  const answer = await app.http.put(`${url}${path}`).send(body);
  expect([answer.status, answer.body.errors]).toEqual([201, undefined]);
  return answer.body as object;
};

const mutate = async (field: string, type: string, input: object, more = ''): Promise<object> => {
  const query = `mutation ($input: ${type}!) { sent: ${field}(project: "P1", drive: "${drive}", ${more}: $input)
    { ${field === 'putShift' ? 'openItems { doubt name }' : 'doubts { doubt name }'} } }`;
  const { body } = await app.http.post('/graphql').send({ query, variables: { input } });
  expect(body.errors).toBeUndefined();
  return body.data.sent as object;
};

const load = async (kind: string, ...rows: string[]): Promise<object> => {
  const answer = await app.http
    .post(`${url}/imports/${kind}`)
    .attach('file', Buffer.from(rows.join('\n')), 'table.csv');
  expect([answer.status, answer.body.errors]).toEqual([200, undefined]);
  expect(answer.body.doubted).toBe(1);
  return answer.body as object;
};

const viaGraphql = (input: object): Promise<object> =>
  mutate('putShift', 'ShiftDocumentInput', input, `date: "${DAY}", shift: "day", document`);

const long = aShift(DAY).withStroke(1, '1+200', '1+203', '06:00', '07:00').build();
const bolts = aShift(DAY).withSupport('BOLT', '1+200', '1+203', '1').build();
const ground = aShift(DAY).withGround('A', '1+200', '1+203').build();
const log = { from: '1+200', to: '1+203', mappedBy: 'G', mappedAt: MADE_AT };
const area = { from: '1+200', to: '1+203', cause: 'geological', areaM2: '0.4', surveyedAt: MADE_AT };

/** The tag of a proposal of one stroke of 2.7 m, without a regrip. */
const proposed = async (): Promise<string> => {
  await uploadLines(app, sampled([bore(45)], CLEAN).map(asUploaded), `${url}/samples`);
  return (await app.http.post(`${url}/stroke-proposals`).send(SPAN)).headers.etag as string;
};

const accepted = async (): Promise<object> => {
  const tag = await proposed();
  const answer = await app.http.post(`${url}/stroke-proposals/1/accept`).set('if-match', tag).send({});
  expect([answer.status, answer.body.errors]).toEqual([200, undefined]);
  return answer.body as object;
};

const acceptedByGraphql = async (): Promise<object> => {
  const tag = JSON.stringify(await proposed());
  const query = `mutation { sent: acceptStrokeProposal(project: "P1", drive: "${drive}", number: 1, ifMatch: ${tag}) { doubts { doubt name } } }`;
  const { body } = await app.http.post('/graphql').send({ query });
  expect(body.errors).toBeUndefined();
  return body.data.sent as object;
};

/** The writes of each kind, each of an entry that is doubted. */
const WRITES: Record<DoubtedRecord, Record<string, () => Promise<object>>> = {
  stroke: {
    'the PUT of its shift': () => put(SHIFT, long),
    putShift: () => viaGraphql(long),
    'an import of strokes': () => load('strokes', 'number,from,to', '1,1+200,1+203'),
    'an import of borings': () =>
      load(
        'shift-strokes',
        'date,shift,state,number,from,to,startedAt,endedAt',
        `${DAY},day,draft,1,1+200,1+203,${DAY}T06:00:00Z,${DAY}T07:00:00Z`,
      ),
    'the acceptance of a proposal': accepted,
    acceptStrokeProposal: acceptedByGraphql,
  },
  support: {
    'the PUT of its shift': () => put(SHIFT, bolts),
    putShift: () => viaGraphql(bolts),
    'an import of support': () =>
      load(
        'shift-support',
        'date,shift,state,item,zone,from,to,quantity',
        `${DAY},day,draft,BOLT,L1,1+200,1+203,1`,
      ),
  },
  ground: {
    'the PUT of its shift': () => put(SHIFT, ground),
    putShift: () => viaGraphql(ground),
    'an import of ground': () =>
      load('shift-ground', 'date,shift,state,from,to,groundClass', `${DAY},day,draft,1+200,1+203,A`),
  },
  ground_log: {
    'its PUT': () => put('/ground-logs/GL', log),
    putGroundLog: () => mutate('putGroundLog', 'GroundLogInput', log, 'name: "GL", input'),
    'an import': () => load('ground-logs', 'name,from,to,mappedBy,mappedAt', `GL,1+200,1+203,G,${MADE_AT}`),
  },
  overbreak: {
    'its PUT': () => put('/overbreak/O', area),
    putOverbreak: () => mutate('putOverbreak', 'OverbreakInput', area, 'name: "O", input'),
    'an import': () =>
      load('overbreak', 'name,from,to,cause,areaM2,surveyedAt', `O,1+200,1+203,geological,0.4,${MADE_AT}`),
  },
};

describe.each(Object.values(DoubtedRecord))('doubts about %s', (record) => {
  it.each(Object.entries(WRITES[record]))('are told by %s', async (_, write) => {
    const answer = told(await write());
    expect(answer).toHaveLength(1);
    expect(answer).toEqual(await listed(record));
  });
});

describe('doubts about a log', () => {
  it('are told where it is read alone, and gone once the metres are posted', async () => {
    const read = async () => (await app.http.get(`${url}/ground-logs/GL`)).body;
    await put('/ground-logs/GL', log);
    expect(told(await read())).toEqual(['ahead_of_face GL']);
    await put(SHIFT, aShift(DAY).withStroke(1, '1+200', '1+203', '06:00', '07:00').build());
    expect((await read()).doubts).toEqual([]);
    const [entry] = (await app.http.get(`${url}/ground-logs`)).body.items;
    expect(entry).not.toHaveProperty('doubts');
    const query = `{ drive(project: "P1", drive: "${drive}") { groundLog(name: "GL") { doubts { doubt } } groundLogs { nodes { doubts { doubt } } } } }`;
    const { body } = await app.http.post('/graphql').send({ query });
    expect(body.data.drive).toEqual({ groundLog: { doubts: [] }, groundLogs: { nodes: [{ doubts: null }] } });
  });

  it('are told by a dry run, and by no import without any', async () => {
    const table = (from: string) =>
      Buffer.from(`name,from,to,mappedBy,mappedAt\nGL,${from},1+203,G,${MADE_AT}`);
    const dry = await app.http
      .post(`${url}/imports/ground-logs`)
      .field('dryRun', 'true')
      .attach('file', table('1+200'), 'table.csv');
    expect([dry.body.created, told(dry.body)]).toEqual([1, ['ahead_of_face GL']]);
    await put(SHIFT, long);
    const taken = await app.http
      .post(`${url}/imports/ground-logs`)
      .attach('file', table('1+200'), 'table.csv');
    expect([taken.body.created, taken.body.doubted, taken.body.doubts]).toEqual([1, 0, []]);
  });
});
