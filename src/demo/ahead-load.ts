import type { HoldPoint } from '../features/ahead/hold-points/hold-point.models.js';
import { DRIVE_PATH, PROJECT_PATH } from './addresses.js';
import {
  ALERT_RULES,
  ENCOUNTER,
  GROUTING,
  HOLD_POINT,
  INFLOW,
  INVESTIGATION,
  WATER_LIMITS,
  WATER_TEST,
} from './ahead.js';
import type { DemoClient } from './client.js';
import type { Crowd } from './crowd.js';
import { Tally } from './tally.js';

/** Existing records are left as they are. */
const putUnlessThere = async (
  client: DemoClient,
  path: string,
  input: object,
  tally: Tally,
): Promise<void> => {
  const isThere = (await client.find(path)) !== undefined;
  if (!isThere) await client.put(path, input);
  tally.add(isThere ? 'unchanged' : 'created');
};

/** Run before the first shift, so that the hold point is not passed before it is released. */
export const putAheadRules = async ({ bruno, dario }: Crowd, tally: Tally): Promise<void> => {
  const limits = `${DRIVE_PATH}/water-limits/${WATER_LIMITS.validFrom}`;
  await putUnlessThere(bruno, limits, WATER_LIMITS.input, tally);
  const point = `${DRIVE_PATH}/hold-points/${HOLD_POINT.code}`;
  await putUnlessThere(dario, point, HOLD_POINT.input, tally);
  const { releases } = await dario.get<HoldPoint>(point);
  if (releases.length === 0) await dario.post(`${point}/release`, HOLD_POINT.release);
};

/** What was seen ahead and encountered, water and grouting, and the project's alert rules. */
export const putAhead = async ({ bruno, carla }: Crowd): Promise<Tally> => {
  const tally = new Tally();
  const put = (list: string, name: string, input: object): Promise<void> =>
    putUnlessThere(carla, `${DRIVE_PATH}/${list}/${name}`, input, tally);
  await put('investigations', INVESTIGATION.name, INVESTIGATION.input);
  await put('encounters', ENCOUNTER.name, ENCOUNTER.input);
  for (const [name, input] of Object.entries(INFLOW)) await put('inflow-measurements', name, input);
  await put('water-tests', WATER_TEST.name, WATER_TEST.input);
  await put('grouting-rounds', GROUTING.name, GROUTING.input);
  for (const [code, input] of Object.entries(ALERT_RULES))
    await putUnlessThere(bruno, `${PROJECT_PATH}/alert-rules/${code}`, input, tally);
  return tally;
};
