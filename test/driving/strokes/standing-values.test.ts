import { commandScope } from '../../../src/commands/command-scope.js';
import { Database } from '../../../src/common/database/database.js';
import { inScope } from '../../../src/common/database/scope.js';
import { StrokeValuesService } from '../../../src/features/driving/stroke-values/stroke-values.service.js';
import { boredDay } from '../../builders/days.js';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';

// A record written before power and torque penetration index were stored, with a countersigned shift: the values are filled in once, and are
// then protected like the rest of the shift.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  const shift = boredDay('2027-03-01', 1, '1+200', '1+201.7', '8');
  expect((await app.http.put('/v1/projects/P1/drives/N/shifts/2027-03-01/day').send(shift)).status).toBe(201);
  await app.sql('update boring set power_kw = null, torque_penetration_index = null');
  await app.sql(
    `begin; select set_config('drivebook.actor', 'boris', true); update shift set state = 'countersigned'; commit`,
  );
});

afterAll(() => app.close());

const rebuilt = async (): Promise<number> => {
  const scope = await commandScope(app.app.get(Database), 'P1');
  return inScope(scope, () => app.app.get(StrokeValuesService).rebuildAll());
};

const stored = async () =>
  (await app.sql(`select power_kw, torque_penetration_index, torque_ratio from boring`))[0];

const MOVES = [
  'torque_ratio = 9',
  'torque_knm = 901',
  'power_kw = null',
  'power_kw = 1',
  'torque_penetration_index = null',
  'torque_penetration_index = 1',
];

const refusalOf = (move: string): Promise<unknown> =>
  app.sql(`update boring set ${move}`).then(
    () => 'taken',
    (error: Error) => error.message,
  );

it('is filled in by a rebuild, once', async () => {
  expect(await stored()).toMatchObject({ power_kw: null, torque_penetration_index: null });
  expect(await refusalOf('torque_ratio = 9, power_kw = 1')).toContain('is countersigned');
  const { torque_ratio } = (await stored()) as { torque_ratio: number };
  expect(await rebuilt()).toBe(1);
  // 900 kNm at 6 rpm and 8 mm/rev: 2π·6·900/60 kW, 900/8.
  expect(await stored()).toEqual({
    power_kw: expect.closeTo(565.4867, 4),
    torque_penetration_index: 112.5,
    torque_ratio,
  });
  expect(await rebuilt()).toBe(0);
});

it.each(MOVES)('does not accept %s', async (move) => {
  const before = await stored();
  expect(await refusalOf(move)).toBe('shift 2027-03-01 day is countersigned: reopen it before you change it');
  expect(await stored()).toEqual(before);
});

it('leaves the shift’s versions and the history whole', async () => {
  const { body } = await app.http.get('/v1/projects/P1/drives/N/shifts/2027-03-01/day/versions');
  expect(body.map(({ state }: { state: string }) => state)).toEqual(['submitted', 'countersigned']);
  const faults = await app.sql(
    `select * from history.first_fault((select id from project where code = 'P1'), null, null)`,
  );
  expect(faults).toEqual([]);
});

it('stays as it is when a put of the machine does not affect it', async () => {
  const belt = { name: 'Trial machine', discCount: 50, discRadiusMm: '241.3', idleTorqueKnm: '180' };
  const bounds = { torqueRatioLower: '0.35', torqueRatioUpper: '0.57', beltCapacityTPerH: '800' };
  const { status } = await app.http.put('/v1/projects/P1/machines/M1').send({ ...belt, ...bounds });
  expect(status).toBe(200);
});
