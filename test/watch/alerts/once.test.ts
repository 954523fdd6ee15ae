import fc from 'fast-check';
import { aShift } from '../../builders/shift.js';
import { app, drive, ownDrives, toDrive, url } from '../../harness/own-drives.js';
import { itOnce, runs, sized } from '../../harness/sizes.js';
import { AlertClock } from '../../../src/features/watch/alerts/alert-clock.service.js';
import { alerts, clock, done, open, PROJECT, type Row } from './site.js';

// Raised once per crossing, whatever the order of writes, whoever writes concurrently: against a second implementation.

ownDrives('AO');

/** Actions, one transaction each. Lengths in whole metres of the drive from 1+200. */
type Act =
  | { act: 'bore'; m: number }
  | { act: 'unbore' }
  | { act: 'hole'; name: number; collar: number; length: number }
  | { act: 'unhole'; name: number }
  | { act: 'point'; name: number; at: number }
  | { act: 'release' | 'withdraw'; name: number }
  | { act: 'rule'; name: number; threshold: number; isOn: boolean; ofDrive: boolean }
  | { act: 'unrule'; name: number }
  | { act: 'clock' };

const name = fc.integer({ min: 0, max: 2 });
const acts: fc.Arbitrary<Act[]> = fc.array(
  fc.oneof<fc.Arbitrary<Act>[]>(
    fc.record({ act: fc.constant('bore' as const), m: fc.integer({ min: 1, max: 6 }) }),
    fc.record({ act: fc.constant('bore' as const), m: fc.integer({ min: 1, max: 6 }) }),
    fc.constant<Act>({ act: 'unbore' }),
    fc.record({
      act: fc.constant('hole' as const),
      name,
      collar: fc.integer({ min: 0, max: 15 }),
      length: fc.integer({ min: 1, max: 20 }),
    }),
    fc.record({ act: fc.constant('unhole' as const), name }),
    fc.record({ act: fc.constant('point' as const), name, at: fc.integer({ min: 1, max: 20 }) }),
    fc.record({ act: fc.constantFrom('release' as const, 'withdraw' as const), name }),
    fc.record({
      act: fc.constant('rule' as const),
      name,
      threshold: fc.integer({ min: 0, max: 15 }),
      isOn: fc.boolean(),
      ofDrive: fc.boolean(),
    }),
    fc.record({ act: fc.constant('unrule' as const), name }),
    fc.constant<Act>({ act: 'clock' }),
  ),
  { minLength: sized(12, 30), maxLength: sized(18, 45) },
);

const chainage = (m: number): string => `1+${String(200 + m)}`;

/** The drive after the actions, and the alerts raised: written from the rules alone. */
class Naive {
  readonly shifts: number[] = [];
  readonly holes = new Map<number, [number, number]>();
  readonly points = new Map<number, { at: number; isReleased: boolean; wasReleased: boolean }>();
  readonly rules = new Map<number, { threshold: number; isOn: boolean }>();
  readonly raised: { key: string; isOpen: boolean }[] = [];

  get face(): number {
    return this.shifts.reduce((sum, m) => sum + m, 0);
  }

  /** Cover: metre by metre, how far ahead of the face a hole reaches. */
  private get cover(): number {
    let m = this.face;
    while ([...this.holes.values()].some(([from, to]) => from <= m && to > m)) m += 1;
    return m - this.face;
  }

  /** Current conditions. */
  private get conditions(): string[] {
    const passed = [...this.points].filter(([, { at, isReleased }]) => !isReleased && this.face > at);
    const below = [...this.rules].filter(([, { isOn, threshold }]) => isOn && this.cover < threshold);
    return [
      ...passed.map(([n]) => `hold_point_passed H${n} -`),
      ...below.map(([n]) => `cover_below face ${n}`),
    ];
  }

  settle(): void {
    const now = this.conditions;
    for (const alert of this.raised) if (!now.includes(alert.key)) alert.isOpen = false;
    for (const key of now)
      if (!this.raised.some((alert) => alert.key === key && alert.isOpen))
        this.raised.push({ key, isOpen: true });
  }
}

const dateOf = (shift: number): string => new Date(Date.UTC(2027, 2, 1 + shift)).toISOString().slice(0, 10);

/** Does it in the drive and in the second implementation, if possible. */
const doIt = async (act: Act, naive: Naive): Promise<void> => {
  const { shifts, holes, points, rules } = naive;
  switch (act.act) {
    case 'bore': {
      const from = naive.face;
      const date = dateOf(shifts.length);
      shifts.push(act.m);
      const shift = aShift(date).withStroke(
        shifts.length,
        chainage(from),
        chainage(from + act.m),
        '06:00',
        '07:00',
      );
      await done('put', `${url}/shifts/${date}/day`, shift.build());
      break;
    }
    case 'unbore': {
      if (shifts.length === 0) return;
      shifts.pop();
      const path = `${url}/shifts/${dateOf(shifts.length)}/day`;
      const { headers } = await app.http.get(path);
      const { status, text } = await app.http.delete(path).set('if-match', String(headers.etag));
      if (status !== 204) throw new Error(text);
      break;
    }
    case 'hole':
      holes.set(act.name, [act.collar, act.collar + act.length]);
      await done('put', `${url}/probe-holes/P${act.name}`, {
        collar: chainage(act.collar),
        lookOutDeg: '0',
        positionDeg: '0',
        lengthM: String(act.length),
        drilledAt: '2021-03-01T05:00:00Z',
      });
      break;
    case 'unhole':
      if (!holes.delete(act.name)) return;
      await done('delete', `${url}/probe-holes/P${act.name}`);
      break;
    case 'point': {
      const stands = points.get(act.name);
      if (stands?.isReleased) return;
      points.set(act.name, { at: act.at, isReleased: false, wasReleased: stands?.wasReleased ?? false });
      const body = { chainage: chainage(act.at), reason: 'Fault', side: 'client' };
      await done('put', `${url}/hold-points/H${act.name}`, body);
      break;
    }
    case 'release':
    case 'withdraw': {
      const point = points.get(act.name);
      const isRelease = act.act === 'release';
      if (point?.isReleased !== !isRelease) return;
      point.isReleased = isRelease;
      const path = `${url}/hold-points/H${act.name}/${isRelease ? 'release' : 'withdraw-release'}`;
      await done('post', path, isRelease ? { evidence: 'Core' } : { reason: 'Wrong' });
      break;
    }
    case 'rule':
      rules.set(act.name, { threshold: act.threshold, isOn: act.isOn });
      await done('put', `${PROJECT}/alert-rules/${drive}-${act.name}`, {
        kind: 'cover_below',
        threshold: String(act.threshold),
        isOn: act.isOn,
        drive: act.ofDrive ? drive : undefined,
      });
      break;
    case 'unrule':
      if (!rules.delete(act.name)) return;
      await done('delete', `${PROJECT}/alert-rules/${drive}-${act.name}`);
      break;
    case 'clock':
      expect(await clock()).toBe(0); // nothing is left for it to do
      return;
  }
  naive.settle();
};

let trial = 0;

it('under random order of writes', async () => {
  await fc.assert(
    fc.asyncProperty(acts, async (all) => {
      trial += 1;
      await toDrive(`AOR${trial}`);
      const naive = new Naive();
      for (const act of all) {
        await doIt(act, naive);
        const found = (await alerts({ first: 1000 })).map(({ kind, subject, rule, state }) => ({
          key: `${String(kind)} ${String(subject)} ${typeof rule === 'string' ? rule.replace(`${drive}-`, '') : '-'}`,
          isOpen: state === 'open',
        }));
        // those of one transaction have no defined order
        const sorted = (rows: { key: string; isOpen: boolean }[]) =>
          rows.toSorted((a, b) => (a.key < b.key ? -1 : 1));
        expect(sorted(found)).toEqual(sorted(naive.raised));
      }
      for (const n of naive.rules.keys()) await done('delete', `${PROJECT}/alert-rules/${drive}-${n}`);
    }),
    runs(2, 40),
  );
});

it('by writers and clocks at the same time: no two are open for one subject, and none is missing', async () => {
  await done('put', `${PROJECT}/alert-rules/${drive}`, { kind: 'cover_below', threshold: '10', drive });
  const hole = (length: number, n: number) =>
    app.http.put(`${url}/probe-holes/P${n}`).send({
      collar: '1+200',
      lookOutDeg: '0',
      positionDeg: '0',
      lengthM: String(length),
      drilledAt: '2021-03-01T05:00:00Z',
    });
  const found: number[] = [];
  for (let round = 0; round < sized(2, 15); round += 1) {
    // ends and causes the crossing at the same time, in an unknown order
    const answers = await Promise.all([
      hole(30, 0),
      hole(5 + round, 1),
      hole(4, 0),
      hole(round % 2 ? 25 : 3, 1),
    ]);
    found.push(...answers.map(({ status }) => status));
    await Promise.all([clock(), clock()]);
  }
  expect(found.filter((status) => status >= 300)).toEqual([]);
  const all = await alerts({ first: 1000 });
  const longest = (await app.http.get(`${url}/probe-cover`)).body as Row;
  expect(await open()).toEqual(Number(longest.coverM) < 10 ? ['cover_below face'] : []);
  const times = all.map(({ raisedAt, clearedAt }) => [
    Date.parse(String(raisedAt)),
    Date.parse(String(clearedAt ?? '2100-01-01')),
  ]);
  for (const [place, [raised = 0, cleared = 0]] of times.entries()) {
    expect(cleared).toBeGreaterThanOrEqual(raised);
    expect(times[place + 1]?.[0] ?? Infinity).toBeGreaterThanOrEqual(cleared);
  }
});

itOnce('by the clock of the service, for what changes only with time', async () => {
  await done('put', `${PROJECT}/alert-rules/${drive}`, {
    kind: 'class_decision_open',
    threshold: '0',
    drive,
  });
  await done('put', `${url}/class-decisions/1`, { from: '1+200', to: '1+210', groundClass: 'A' });
  expect(await alerts()).toEqual([]); // its transaction began before it was proposed
  const service = app.app.get(AlertClock, { strict: false });
  await service.strike();
  await service.strike();
  const raised = await alerts();
  expect(raised).toEqual([
    expect.objectContaining({ kind: 'class_decision_open', subject: '1', raisedBy: 'drivebook' }),
  ]);
  const [change] = await app.sql(
    `select actor, credential, tables from history.change where project_id = (select id from project where code = 'P1') and number = (
      select from_change from history.alert where project_id = (select id from project where code = 'P1') and number = $1)`,
    [raised[0]?.number],
  );
  expect(change).toEqual({ actor: 'drivebook', credential: 'service', tables: ['alert'] });
  await done('delete', `${PROJECT}/alert-rules/${drive}`);
  expect((await alerts())[0]).toMatchObject({ state: 'cleared', clearance: 'rule_off' });
});

itOnce('a change without a rule, or one that is rolled back, raises nothing', async () => {
  await done('put', `${PROJECT}/alert-rules/${drive}`, {
    kind: 'class_decision_open',
    threshold: '3',
    drive,
  });
  const shift = aShift('2027-03-01').withStroke(1, '1+200', '1+201', '06:00', '07:00').build();
  await done('put', `${url}/hold-points/A`, { chainage: '1+200.5', reason: 'Fault', side: 'client' });
  const bad = {
    ...shift,
    strokes: [{ number: 1, borings: [{ ...shift.strokes[0]?.borings[0], to: '9+200' }] }],
  };
  expect((await app.http.put(`${url}/shifts/2027-03-01/day`).send(bad)).status).toBe(422);
  expect(await alerts()).toEqual([]);
  await done('put', `${url}/shifts/2027-03-01/day`, shift);
  expect(await open()).toEqual(['hold_point_passed A']);
  const [change] = await app.sql<{ tables: string[] }>(
    'select tables from history.change where project_id = (select id from project where code = $1) order by number desc limit 1',
    ['P1'],
  );
  expect(change?.tables).toContain('alert');
  await done('delete', `${PROJECT}/alert-rules/${drive}`);
});

describe('the tables of a kind', () => {
  /** What its condition reaches, through views and functions. */
  const REACHED = `with recursive reached(class, id) as (
      select 'pg_proc'::regclass::oid, $1::regprocedure::oid
      union
      select d.refclassid, d.refobjid from reached r
      join pg_depend d on (d.classid = r.class and d.objid = r.id)
        or (r.class = 'pg_class'::regclass and d.classid = 'pg_rewrite'::regclass and d.objid in (select oid from pg_rewrite where ev_class = r.id))
      where d.refclassid in ('pg_proc'::regclass, 'pg_class'::regclass)
    )
    select distinct relname::text as name from reached join pg_class c on class = 'pg_class'::regclass and c.oid = id
    where relkind in ('r', 'p') and relnamespace = 'public'::regnamespace order by 1`;

  /** Tables read only for details: strokes until the permitted end, the shift of a hole, the next hold point, unmeasured metres, the name of a class. */
  const BESIDE: Record<string, string[]> = {
    cover_below: [
      'machine',
      'machine_revision',
      'shift',
      'calendar_shift',
      'hold_point',
      'hold_point_release',
    ],
    inflow_above: ['boring'],
    class_decision_open: ['ground_class'],
  };

  itOnce.each([
    ['cover_below', 'alert_cover'],
    ['hold_point_passed', 'alert_hold_point'],
    ['thrust_above', 'alert_thrust'],
    ['unsupported_above', 'alert_unsupported'],
    ['inflow_above', 'alert_inflow'],
    ['shift_late', 'alert_shift'],
    ['class_decision_open', 'alert_class_decision'],
  ])('%s are those that %s reads', async (kind, condition) => {
    const read = await app.sql<{ name: string }>(REACHED, [`report.${condition}(int)`]);
    const [named] = await app.sql<{ tables: string[] }>(
      'select array(select unnest(drive_tables || project_tables) order by 1) as tables from report.alert_kind() where kind = $1',
      [kind],
    );
    const needed = [...read.map(({ name }) => name), 'alert_rule']
      .filter((name) => !BESIDE[kind]?.includes(name))
      .sort();
    expect(named?.tables).toEqual([...new Set(needed)]);
  });

  itOnce('are of a drive, or of the project as a whole', async () => {
    const wrong = await app.sql(
      `select kind, t from report.alert_kind(), unnest(drive_tables) t where history.drive_of(t) is null
       union all select kind, t from report.alert_kind(), unnest(project_tables) t where history.drive_of(t) is not null and t not in ('site_closure', 'alert_rule')`,
    );
    expect(wrong).toEqual([]);
  });
});
