import { startApp, type TestApp } from '../../harness/app.js';
import { until } from '../../harness/until.js';
import { aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { type Receiver, startReceiver } from './receiver.js';

// Messages during the life of an alert: each has the content that GET answers for the alert at that moment.

const P = '/v1/projects/P1';
const N = `${P}/drives/N`;

let app: TestApp;
let receiver: Receiver;

beforeAll(async () => {
  receiver = await startReceiver();
  app = await startApp({
    WEBHOOK_SENDING: 'on',
    WEBHOOK_ALLOWED_TARGETS: '127.0.0.0/8',
  });
  await aProject(app);
  await send('put', `${P}/webhooks/board`, {
    url: receiver.url('/board'),
    types: ['alert.raised', 'alert.acknowledged', 'alert.cleared'],
  });
  await send('post', `${P}/webhooks/board/rotate-secret`, {});
  await send('put', `${N}/hold-points/A`, { chainage: '1+210', reason: 'Fault zone', side: 'client' });
});

afterAll(async () => {
  await app.close();
  await receiver.close();
});

const send = async (method: 'put' | 'post', path: string, body: object): Promise<void> => {
  const { status, text } = await app.http[method](path).send(body);
  if (status >= 300) throw new Error(`${path}: ${status} ${text}`);
};

const bore = (date: string, stroke: number, from: string, to: string): Promise<void> =>
  send(
    'put',
    `${N}/shifts/${date}/day`,
    aShift(date, 'day').withStroke(stroke, from, to, '06:00', '07:00').build(),
  );

interface Message {
  type: string;
  project: string;
  data: Record<string, unknown>;
}

const messages = (): Message[] => receiver.of('/board').map(({ body }) => JSON.parse(body) as Message);

/** The trial project uses UTC; the list gives moments with their offset. */
const theAlert = async (): Promise<Record<string, unknown>> => {
  const { body } = await app.http.get(`${P}/alerts/1`).expect(200);
  return Object.fromEntries(
    Object.entries(body as Record<string, unknown>).map(([name, value]) => [
      name,
      name.endsWith('At') && typeof value === 'string' ? new Date(value).toISOString() : value,
    ]),
  );
};

it('raised, acknowledged and cleared: one message each, with the state of the alert', async () => {
  await bore('2027-03-01', 1, '1+200', '1+206');
  expect(messages()).toEqual([]);
  await bore('2027-03-02', 2, '1+206', '1+212.5');
  await until(() => messages().length === 1);
  expect(messages()).toMatchObject([{ type: 'alert.raised', project: 'P1', data: await theAlert() }]);
  await send('post', `${P}/alerts/1/acknowledge`, { reason: 'The client is on the way' });
  await until(() => messages().length === 2);
  expect(messages()[1]).toMatchObject({ type: 'alert.acknowledged', data: await theAlert() });
  await send('post', `${N}/hold-points/A/release`, { evidence: 'Core K3' });
  await until(() => messages().length === 3);
  expect(messages()[2]).toMatchObject({ type: 'alert.cleared', data: await theAlert() });
  expect(Object.keys(messages()[2]?.data ?? {}).sort()).toEqual(Object.keys(await theAlert()).sort());
});

it('an alert that cannot be computed refuses no shift, and is raised once it can be', async () => {
  await send('post', `${N}/hold-points/A/withdraw-release`, { reason: 'Wrong core' });
  await send('put', `${N}/hold-points/B`, { chainage: '1+215', reason: 'Fault zone', side: 'client' });
  await app.sql('alter function alerts_found(int, text[]) rename to alerts_found_kept');
  await app.sql(
    `create function alerts_found(int, text[]) returns jsonb language plpgsql as $$ begin raise division_by_zero; end $$`,
  );
  await bore('2027-03-03', 3, '1+212.5', '1+218');
  await app.sql('drop function alerts_found(int, text[])');
  await app.sql('alter function alerts_found_kept(int, text[]) rename to alerts_found');
  const open = async (): Promise<string[]> =>
    (
      (await app.http.get(`${P}/alerts?state=open`).expect(200)).body as { items: { subject: string }[] }
    ).items.map(({ subject }) => subject);
  expect(await open()).toEqual(['A']);
  await bore('2027-03-04', 4, '1+218', '1+220');
  expect((await open()).sort()).toEqual(['A', 'B']);
});
