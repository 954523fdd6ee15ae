import { aShift } from '../../builders/shift.js';
import { app, drive, toDrive, url } from '../../harness/own-drives.js';

export type Body = Record<string, unknown>;

const done = async (path: string, body: object): Promise<void> => {
  const { status, text } = await app.http.put(path).send(body);
  if (status >= 300) throw new Error(`${path}: ${status} ${text}`);
};

/** A hole along the axis, 30 m from the start of the drive by default. */
export const hole = (name: string, given: Body = {}): Promise<void> =>
  done(`${url}/probe-holes/${name}`, {
    collar: '1+200',
    lookOutDeg: '0',
    positionDeg: '0',
    lengthM: '30',
    drilledAt: '2021-03-01T05:00:00Z',
    ...given,
  });

/** Puts the probe requirements. */
export const ask = (requirements: Body[], more: Body = {}): Promise<void> =>
  done(`${url}/probe-requirements`, { requirements, ...more });

export const bore = (from: string, to: string, date = '2027-03-01'): Promise<void> =>
  done(`${url}/shifts/${date}/day`, aShift(date).withStroke(1, from, to, '06:00', '07:00').build());

/** Sets the stroke length. */
export const strokesOf = async (strokeLengthM: string | null): Promise<void> => {
  const machine = `M-${drive}`;
  await done(`/v1/projects/P1/machines/${machine}`, {
    name: 'Machine of the case',
    discCount: 50,
    discRadiusMm: '241.3',
    strokeLengthM,
  });
  const { body } = await app.http.get(url);
  const { name, startChainage, endChainage, direction, boredDiameterM } = body;
  await done(url, { name, startChainage, endChainage, direction, boredDiameterM, machine });
};

export const cover = async (query: Body = {}): Promise<Body> => {
  const { status, body } = await app.http.get(`${url}/probe-cover`).query(query);
  if (status !== 200) throw new Error(JSON.stringify(body));
  return body as Body;
};

/** A separate drive against the chainage. */
export const fallingDrive = (code: string): Promise<void> =>
  toDrive(code, { startChainage: '2+200', endChainage: '1+200', direction: -1 });
