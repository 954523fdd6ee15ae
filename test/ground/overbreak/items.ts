import { app, url } from '../../harness/own-drives.js';

export type Row = Record<string, unknown>;

export const put = (name: string, body: object) => app.http.put(`${url}/overbreak/${name}`).send(body);

/** Puts an item. @throws Error unless it is accepted */
export const item = async (
  name: string,
  from: string,
  to: string,
  cause: string,
  more: object,
): Promise<Row> => {
  const { status, body, text } = await put(name, { from, to, cause, ...more });
  if (status >= 300) throw new Error(text);
  return body as Row;
};

export const read = async (path = ''): Promise<Row> =>
  (await app.http.get(`${url}/overbreak-quantities${path}`)).body as Row;

export const intervals = async (query = ''): Promise<Row[]> =>
  (await read(`/intervals${query}`)) as unknown as Row[];
