import { app, url } from '../../harness/own-drives.js';

export type Row = Record<string, unknown>;

export const joint = (chainage: string, dipDeg: number, dipDirectionDeg: number, more: object = {}) => ({
  chainage,
  type: 'joint',
  dipDeg: String(dipDeg),
  dipDirectionDeg: String(dipDirectionDeg),
  ...more,
});

export const sheet = (discontinuities: unknown) =>
  app.http.post(`${url}/discontinuities`).send({ discontinuities });

/** The sets of the drive. @throws Error unless the answer is 200 */
export const sets = async (query = ''): Promise<Row[]> => {
  const { status, body, text } = await app.http.get(`${url}/discontinuities/sets${query}`);
  if (status !== 200) throw new Error(text);
  return body.sets as Row[];
};
