import type { AddressInfo } from 'node:net';
import { type Client, createClient } from 'graphql-ws';
import WebSocket from 'ws';
import { createApp } from '../../../src/app.js';
import { loadConfig } from '../../../src/common/config/config.js';
import { type Caller, OWNER, type Site, startSite } from '../../access/site.js';
import { aShift } from '../../builders/shift.js';

let site: Site;
let owner: Caller;
let anna: Caller;
let address: string;
const clients: Client[] = [];

const DRIVE = '/v1/projects/MINE/drives/N';

beforeAll(async () => {
  site = await startSite();
  address = `ws://127.0.0.1:${(site.app.getHttpServer().address() as AddressInfo).port}/graphql`;
  owner = await site.as(OWNER);
  for (const project of ['MINE', 'THEIRS']) {
    await site.project(project);
    const put = async (path: string, body: object): Promise<void> => {
      expect((await owner.put(`/v1/projects/${project}${path}`, body)).status).toBeLessThan(300);
    };
    await put('/calendar-shifts/day', {
      startTime: '06:00',
      endTime: '18:00',
      weekdays: [1, 2, 3, 4, 5, 6, 7],
    });
    await put('/activity-codes/BORE', { description: 'Boring', countsAs: 'boring' });
    await put('/activity-codes/MAINT', { description: 'Maintenance', countsAs: 'planned_stop' });
    await put('/drives/N', {
      name: 'Trial',
      startChainage: '1+200',
      endChainage: '2+200',
      direction: 1,
      boredDiameterM: '7',
    });
  }
  expect((await owner.put('/v1/projects/MINE/members/anna', { roles: ['engineer'] })).status).toBeLessThan(
    300,
  );
  expect((await owner.put('/v1/projects/MINE/members/vera', { roles: ['viewer'] })).status).toBeLessThan(300);
  anna = await site.as('anna');
});

afterEach(async () => {
  for (const client of clients.splice(0)) await client.dispose();
});

afterAll(() => site.close());

const connect = (authorization?: string, url = address): Client => {
  const client = createClient({
    url,
    webSocketImpl: WebSocket,
    lazy: true,
    retryAttempts: 0,
    connectionParams: authorization === undefined ? undefined : { authorization },
  });
  clients.push(client);
  return client;
};

const bearer = async (subject: string): Promise<string> => `Bearer ${await site.token(subject)}`;

interface Message {
  data?: Record<string, Record<string, unknown>> | null;
  errors?: readonly { message: string }[];
}

const subscribe = (client: Client, query: string): AsyncGenerator<Message> =>
  client.iterate({ query }) as AsyncGenerator<Message>;

const ACCEPTED =
  'subscription { shiftAccepted(project: "MINE", drive: "N") { date shift state madeBy change } }';
const FACE = 'subscription { facePosition(project: "MINE", drive: "N") { faceChainage boredM } }';

let day = 0;
let faceMm = 1_200_000;

const dateOf = (n: number): string => new Date(Date.UTC(2027, 2, n)).toISOString().slice(0, 10);

/** Posts the next shift, one metre further. */
const post = async (): Promise<string> => {
  day += 1;
  const date = dateOf(day);
  const at = (mm: number): string => (mm / 1000).toFixed(3);
  const shift = aShift(date)
    .withStroke(day, at(faceMm), at(faceMm + 1000), '06:00', '07:00')
    .withActivity('BORE', '06:00', '07:00');
  faceMm += 1000;
  expect((await anna.put(`${DRIVE}/shifts/${date}/day`, shift.build())).status).toBe(201);
  return date;
};

/** Once the first position has arrived, the subscription is established. */
const following = async (client: Client): Promise<{ faces: AsyncGenerator<Message>; first: Message }> => {
  const faces = subscribe(client, FACE);
  return { faces, first: (await faces.next()).value as Message };
};

describe('the face', () => {
  it('is reported at once, and each time it moves', async () => {
    const { faces, first } = await following(connect(await bearer('vera')));
    expect(first.data).toEqual({
      facePosition: {
        faceChainage: `1+${faceMm === 1_200_000 ? '200' : '20' + day}.000`,
        boredM: `${day}.000`,
      },
    });
    await post();
    // read before the next one: of two at once only the last would be reported
    expect((await faces.next()).value).toMatchObject({
      data: { facePosition: { boredM: `${day}.000` } },
    });
    await owner.put('/v1/projects/MINE/ground-classes/A', { description: `no news of the face ${day}` });
    await post();
    expect((await faces.next()).value).toMatchObject({
      data: { facePosition: { boredM: `${day}.000` } },
    });
  });

  it('is notified of what another instance of the service has written', async () => {
    const { faces } = await following(connect(await bearer('vera')));
    const other = await createApp({
      ...loadConfig({ RATE_LIMIT_PER_MINUTE: '0', LOG_LEVEL: 'silent' }),
      databaseUrl: site.url,
    });
    await other.listen(0, '127.0.0.1');
    try {
      day += 1;
      const shift = aShift(dateOf(day))
        .withStroke(day, (faceMm / 1000).toFixed(3), (faceMm / 1000 + 1).toFixed(3), '06:00', '07:00')
        .withActivity('BORE', '06:00', '07:00')
        .build();
      faceMm += 1000;
      const { port } = other.getHttpServer().address() as AddressInfo;
      const { status } = await fetch(`http://127.0.0.1:${port}${DRIVE}/shifts/${dateOf(day)}/day`, {
        method: 'PUT',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify(shift),
      });
      expect(status).toBe(201);
      expect((await faces.next()).value).toMatchObject({
        data: { facePosition: { boredM: `${day}.000` } },
      });
    } finally {
      await other.close();
    }
  });
});

describe('countersigned shifts', () => {
  it('are reported one by one, with who countersigned them', async () => {
    const client = connect(await bearer('vera'));
    await following(client); // the connection is established
    const accepted = subscribe(client, ACCEPTED);
    const received: Message[] = [];
    void accepted.next().then(({ value }: IteratorResult<Message>) => received.push(value as Message));
    const dates: string[] = [];
    // A subscription is not acknowledged: the first shifts may be posted before it is active.
    while (received.length === 0) dates.push(await post());
    const shift = received[0]?.data?.['shiftAccepted'];
    expect(shift).toMatchObject({ shift: 'day', state: 'draft', madeBy: 'anna' });
    const follows = dates.indexOf(String(shift?.['date'])) + 1;
    expect(follows).toBeGreaterThan(0);
    dates.push(await post());
    expect((await accepted.next()).value).toMatchObject({
      data: { shiftAccepted: { date: dates[follows] } },
    });
  });
});

describe('a subscription that resumes after a break', () => {
  const since = (change: number, rest = ''): string =>
    ACCEPTED.replace('drive: "N"', `drive: "N", since: ${change}`).replace(') {', `${rest}) {`);
  const changes = (change: number, rest = ''): string =>
    `subscription { changes(project: "MINE", since: ${change}${rest}) { number drives kinds } }`;
  const newest = async (): Promise<number> =>
    ((await owner.get('/v1/projects/MINE/changes/head')).body as { number: number }).number;
  const taken = async (from: AsyncGenerator<Message>, count: number): Promise<Record<string, unknown>[]> => {
    const all: Record<string, unknown>[] = [];
    while (all.length < count) all.push(...Object.values(((await from.next()).value as Message).data ?? {}));
    return all;
  };

  it('has the shifts that it missed first, then new ones, each once', async () => {
    const before = await newest();
    const missed = [await post(), await post()];
    await owner.put('/v1/projects/MINE/ground-classes/A', { description: 'no news of a shift' });
    const accepted = subscribe(connect(await bearer('vera')), since(before));
    const first = await taken(accepted, 2);
    const live = [await post(), await post()];
    const all = [...first, ...(await taken(accepted, 2))];
    expect(all.map(({ date }) => date)).toEqual([...missed, ...live]);
    // from the change of one of them on: without that one, and with all that follow
    const again = subscribe(connect(await bearer('vera')), since(Number(all[1]?.['change'])));
    expect((await taken(again, 2)).map(({ date }) => date)).toEqual(live);
  });

  it('has the changes that it missed, of the record or of a part of it', async () => {
    const before = await newest();
    await post();
    await owner.put('/v1/projects/MINE/ground-classes/A', { description: 'a class' });
    const client = connect(await bearer('anna'));
    const all = subscribe(client, changes(before));
    const ofShifts = subscribe(client, changes(before, ', kind: shift, drive: "N"'));
    expect(await taken(all, 2)).toEqual([
      { number: before + 1, drives: ['N'], kinds: ['shift'] },
      { number: before + 2, drives: [], kinds: ['catalogue'] },
    ]);
    await post();
    expect(await taken(all, 1)).toMatchObject([{ number: before + 3 }]);
    expect((await taken(ofShifts, 2)).map(({ number }) => number)).toEqual([before + 1, before + 3]);
  });

  it('is refused after the end of the history, and without the permission to read the history', async () => {
    const refused = async (subject: string, query: string): Promise<string> => {
      const received = await subscribe(connect(await bearer(subject)), query)
        .next()
        .catch((error: unknown) => ({ value: { errors: error } }));
      return JSON.stringify(received.value);
    };
    expect(await refused('vera', since(999_999))).toContain(
      'Change 999999 is not in the history of project MINE',
    );
    expect(await refused('anna', changes(999_999))).toContain('Change 999999 is not in the history');
    expect(await refused('vera', changes(0))).toContain('vera has no history.read in project MINE.');
  });
});

it('in local mode works without a credential, and for a named person', async () => {
  const local = await createApp({
    ...loadConfig({ RATE_LIMIT_PER_MINUTE: '0', LOG_LEVEL: 'silent' }),
    databaseUrl: site.url,
  });
  await local.listen(0, '127.0.0.1');
  const url = `ws://127.0.0.1:${(local.getHttpServer().address() as AddressInfo).port}/graphql`;
  try {
    for (const authorization of [undefined, 'Local vera']) {
      const client = connect(authorization, url);
      const { faces, first } = await following(client);
      expect(first).toMatchObject({ data: { facePosition: { boredM: `${day}.000` } } });
      await post();
      expect((await faces.next()).value).toMatchObject({
        data: { facePosition: { boredM: `${day}.000` } },
      });
    }
    const { number } = (await owner.get('/v1/projects/MINE/changes/head')).body as { number: number };
    const query = `subscription { changes(project: "MINE", since: ${number - 1}) { number } }`;
    expect((await subscribe(connect(undefined, url), query).next()).value).toEqual({
      data: { changes: { number } },
    });
    // people have only their roles
    const received = await subscribe(connect('Local vera', url), query)
      .next()
      .catch((error: unknown) => ({ value: { errors: error } }));
    expect(JSON.stringify(received.value)).toContain('vera has no history.read');
  } finally {
    for (const client of clients.splice(0)) await client.dispose();
    await local.close();
  }
});

describe('a subscription', () => {
  it.each([
    ['to nobody', undefined, '4401 Send an access token or an API key'],
    ['to a stranger', 'stranger', 'There is no project MINE.'],
    ['by a credential that is refused', 'nonsense', '4401 The access token cannot be read.'],
  ])('is not given %s', async (_, subject, message) => {
    const faces = subscribe(
      connect(subject === 'nonsense' ? 'Bearer nonsense' : subject && (await bearer(subject))),
      FACE,
    );
    const received = await faces
      .next()
      .catch(({ code, reason }: WebSocket.CloseEvent) => ({ value: `${code} ${reason}` }));
    expect(JSON.stringify(received.value)).toContain(message);
  });

  it('does not get another project or drive', async () => {
    for (const query of [FACE.replace('MINE', 'THEIRS'), FACE.replace('"N"', '"X"')]) {
      const received = await subscribe(connect(await bearer('vera')), query)
        .next()
        .catch((error: unknown) => ({ value: { errors: error } }));
      expect(JSON.stringify(received.value)).toMatch(
        /There is no (project THEIRS|drive X in project MINE)\./,
      );
    }
  });

  it('ends when its permission does', async () => {
    const made = await owner.post('/v1/projects/MINE/api-keys', { name: 'board', scopes: ['record.read'] });
    const { key, prefix } = made.body as { key: string; prefix: string };
    const { faces } = await following(connect(`Bearer ${key}`));
    expect((await owner.delete(`/v1/projects/MINE/api-keys/${prefix}`)).status).toBe(204);
    await new Promise((resolve) => setTimeout(resolve, 2500)); // answers are cached for two seconds
    await post();
    const received = await faces.next().catch((error: unknown) => ({ done: true, value: { errors: error } }));
    expect(JSON.stringify(received.value ?? '')).not.toContain('facePosition":{');
  });
});
