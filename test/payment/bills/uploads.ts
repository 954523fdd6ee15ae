import type { TestApp } from '../../harness/app.js';

export interface Report {
  rows: { line: number; outcome: string; faults: object[]; changes: object[] }[];
  [count: string]: unknown;
}

export const FROM = { validFrom: '2027-01-01' };

export const NONE = { created: 0, updated: 0, unchanged: 0, rejected: 0, removed: 0, passedOver: 0 };

export const at = (version: string): string => `/v1/projects/P1/drives/N/bills/${version}`;

const IMPORT = '/v1/projects/P1/drives/N/imports/bill-items';

export const outcomes = ({ created, updated, unchanged, rejected, removed, passedOver }: Report): object => ({
  created,
  updated,
  unchanged,
  rejected,
  removed,
  passedOver,
});

/** Properties of the bill: the same value for all rows. */
const OF_BILL = ['validFrom', 'currency', 'remark', 'etag'];

/** Uploads a table of the items of a bill. */
export const upload = async (
  app: TestApp,
  file: string | Buffer,
  fields: Record<string, string> = {},
  version = 'A',
) => {
  const values = {
    version,
    ...Object.fromEntries(
      OF_BILL.flatMap((name) => (fields[name] === undefined ? [] : [[name, fields[name]]])),
    ),
  };
  const map = Object.fromEntries(Object.entries(values).map(([name, value]) => [name, { value }]));
  const request = app.http.post(IMPORT).field('allRows', 'true').field('map', JSON.stringify(map));
  for (const [name, value] of Object.entries(fields))
    if (!OF_BILL.includes(name)) void request.field(name, value);
  return request.attach('file', Buffer.from(file as string), 'bill');
};

/** Uploads a table that is accepted; an existing bill is replaced by its current version. */
export const taken = async (
  app: TestApp,
  file: string | Buffer,
  fields: Record<string, string> = {},
  version = 'A',
): Promise<Report> => {
  const { body: standing } = await app.http.get(at(version));
  const etag: Record<string, string> = typeof standing.etag === 'string' ? { etag: standing.etag } : {};
  const { status, body, text } = await upload(app, file, { ...etag, ...fields }, version);
  if (status !== 200) throw new Error(text);
  return body as Report;
};
