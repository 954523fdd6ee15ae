import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { foundAt } from '../../harness/service-role.js';

// Notices required by the contract, and their due dates. The site is in Zurich.

type Row = Record<string, unknown>;

let app: TestApp;

const PROJECT = '/v1/projects/P1';
const DRIVE = `${PROJECT}/drives/N`;
const RULE = { name: 'Unforeseen ground', days: 28, clause: 'Cl. 20.2.1, within 28 days' };
/** 23 March, 00:30 in Zurich: 28 days after the 23rd end with 20 April. */
const EVENT = { rule: 'CLAIM', happenedAt: '2024-03-22T23:30:00Z', concerns: 'Water at 30 l/s' };
const SENT = { sentAt: '2024-04-21T08:00:00Z', sentBy: 'B. Boring', sentReference: 'L-0815' };

const put = (code: string, body: object) => app.http.put(`${DRIVE}/notices/${code}`).send(body);

const graphql = async (query: string): Promise<Row> =>
  (await app.http.post('/graphql').send({ query })).body as Row;

/** The notice and its open item at an instant, by the current record. */
const at = async (code: string, instant: string): Promise<unknown[]> => {
  const [row] = await foundAt(
    app,
    instant,
    `select n.state, n.due_on::text, n.days_left, n.is_late, i.kind from report_as_of.notice n
      left join report_as_of.open_item i on i.name = n.code where n.code = $1`,
    [code],
  );
  return Object.values(row ?? {});
};

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.http
    .put(PROJECT)
    .send({ name: 'Trial', timeZone: 'Europe/Zurich', dayStart: '06:00', currency: 'EUR' });
  const rule = await app.http.put(`${PROJECT}/notice-rules/CLAIM`).send(RULE);
  expect([rule.status, rule.body]).toEqual([201, { code: 'CLAIM', ...RULE }]);
});

afterAll(() => app.close());

it('is due until the end of the last day, then overdue, by the local days of the site', async () => {
  expect((await put('N1', EVENT)).status).toBeLessThan(300);
  expect(await at('N1', '2024-04-18T12:00:00Z')).toEqual(['due', '2024-04-20', 2, null, 'notice_due']);
  expect(await at('N1', '2024-04-20T21:59:59Z')).toEqual(['due', '2024-04-20', 0, null, 'notice_due']); // 23:59:59 in Zurich
  expect(await at('N1', '2024-04-20T22:00:00Z')).toEqual([
    'overdue',
    '2024-04-20',
    -1,
    null,
    'notice_overdue',
  ]);
});

it('is an open item until it is sent, and is shown as of the moment requested', async () => {
  const body = { ...EVENT, from: '1+210', to: '1+214', shiftDate: '2027-03-01', shiftName: 'day' };
  const notice = (await put('N1', body)).body as Row;
  expect(notice).toMatchObject({
    code: 'N1',
    ruleName: RULE.name,
    ruleDays: 28,
    ruleClause: RULE.clause,
    from: '1+210.000',
    to: '1+214.000',
    dueOn: '2024-04-20',
    state: 'overdue',
    sentAt: null,
    isLate: null,
    caution: expect.stringMatching(/The contract decides/),
  });
  const days = -(notice['daysLeft'] as number);
  expect(days).toBeGreaterThan(0);
  const [item] = (await app.http.get(`${DRIVE}/open-items`)).body as Row[];
  expect(item).toMatchObject({
    kind: 'notice_overdue',
    notice: 'N1',
    dueOn: '2024-04-20',
    daysLeft: -days,
    missingM: null,
    fromChainage: '1+210.000',
    date: '2027-03-01',
    detail: `notice N1 was due by 2024-04-20, ${days} days ago: Unforeseen ground (Cl. 20.2.1, within 28 days): Water at 30 l/s`,
  });
  expect(
    await graphql('{ drive(project: "P1", drive: "N") { openItems { kind notice dueOn daysLeft detail } } }'),
  ).toEqual({
    data: {
      drive: {
        openItems: [
          {
            kind: 'notice_overdue',
            notice: 'N1',
            dueOn: '2024-04-20',
            daysLeft: -days,
            detail: item?.['detail'],
          },
        ],
      },
    },
  });
  const before = new Date().toISOString();
  expect((await put('N1', { ...body, ...SENT })).body).toMatchObject({
    ...SENT,
    sentAt: '2024-04-21T10:00:00+02:00',
    state: 'sent',
    daysLeft: null,
    isLate: true,
  });
  expect((await app.http.get(`${DRIVE}/open-items`)).body).toEqual([]);
  expect((await app.http.get(`${DRIVE}/notices`).query({ asOf: before })).body).toMatchObject([
    { state: 'overdue', sentAt: null },
  ]);
  // a notice recorded as sent later was not sent yet at the requested moment
  expect(await at('N1', '2024-04-21T07:59:59Z')).toEqual([
    'overdue',
    '2024-04-20',
    -1,
    null,
    'notice_overdue',
  ]);
  expect(await at('N1', '2024-04-21T08:00:00Z')).toEqual(['sent', '2024-04-20', null, true, null]);
  const answer = { answeredAt: '2024-05-02T10:00:00Z', answeredBy: 'E. Engineer', answer: 'rejected, R-17' };
  const answered = `mutation { putNotice(project: "P1", drive: "N", code: "N1", input: { rule: "CLAIM", happenedAt: "${EVENT.happenedAt}", concerns: "x",
    sentAt: "${SENT.sentAt}", sentBy: "B", answeredAt: "${answer.answeredAt}", answeredBy: "${answer.answeredBy}", answer: "${answer.answer}" }) { state answer from } }`;
  expect(await graphql(answered)).toEqual({
    data: { putNotice: { state: 'answered', answer: 'rejected, R-17', from: null } },
  });
});

it.each([
  [{ rule: 'NONE' }, '/rule', /notice rule NONE is not in the project: its notice rules are CLAIM/],
  [{ concerns: ' ' }, '/concerns', /state what it concerns/],
  [{ from: '9+000' }, '/from', /beyond the end/],
  [{ from: '1+220', to: '1+210' }, '/to', /./],
  [{ to: '1+220' }, '/to', /to must be given together with from/],
  [{ shiftDate: '2027-03-01' }, '/shiftDate', /given together with shiftName/],
  [{ sentAt: SENT.sentAt }, '/sentAt', /given together with sentBy/],
  [{ ...SENT, sentAt: '2024-03-22T23:29:59Z' }, '/sentAt', /sentAt lies before happenedAt/],
  [{ answeredAt: SENT.sentAt, answeredBy: 'E' }, '/answeredAt', /given together with sentAt/],
  [{ ...SENT, answer: 'yes' }, '/answer', /given together with answeredAt/],
  [{ ...SENT, answeredAt: '2024-04-21T07:59:00Z', answeredBy: 'E' }, '/answeredAt', /before sentAt/],
])('a notice with %j is refused at %s', async (given, pointer, detail) => {
  const before = await app.contents();
  const { status, body } = await put('N2', { ...EVENT, ...given });
  expect([status, body.errors]).toEqual([
    422,
    [expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })],
  ]);
  expect(await app.contents()).toBe(before);
});

it('follows its rule, which cannot be removed while a notice refers to it', async () => {
  const refused = await app.http.delete(`${PROJECT}/notice-rules/CLAIM`);
  expect([refused.status, refused.body.detail]).toEqual([
    409,
    'notice rule CLAIM cannot be removed: notice N1 is under it',
  ]);
  await put('N1', EVENT);
  await graphql(`
    mutation {
      putNoticeRule(
        project: "P1"
        code: "CLAIM"
        input: { name: "Unforeseen ground", days: 14, clause: "Amended" }
      ) {
        days
      }
    }
  `);
  expect((await app.http.get(`${DRIVE}/notices`)).body).toMatchObject([
    { dueOn: '2024-04-06', ruleClause: 'Amended' },
  ]);
  expect((await app.http.delete(`${DRIVE}/notices/N1`)).status).toBe(204);
  expect((await app.http.delete(`${DRIVE}/notices/N1`)).status).toBe(404);
  expect((await app.http.delete(`${PROJECT}/notice-rules/CLAIM`)).status).toBe(204);
  expect((await app.http.delete(`${PROJECT}/notice-rules/CLAIM`)).status).toBe(404);
  expect(
    (await app.http.put(`${PROJECT}/notice-rules/CLAIM`).send({ ...RULE, days: 0 })).body.errors,
  ).toEqual([expect.objectContaining({ pointer: '/days' })]);
});
