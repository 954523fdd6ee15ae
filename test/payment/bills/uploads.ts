import type { TestApp } from '../../harness/app.js';

export interface Report {
  rows: { line: number; reference?: string; outcome: string; faults: object[]; changes: object[] }[];
  [count: string]: unknown;
}

export const FROM = { validFrom: '2027-01-01' };

export const NONE = { created: 0, changed: 0, unchanged: 0, rejected: 0, removed: 0, passedOver: 0 };

export const at = (version: string): string => `/v1/projects/P1/drives/N/bills/${version}`;

export const outcomes = ({ created, changed, unchanged, rejected, removed, passedOver }: Report): object => ({
  created,
  changed,
  unchanged,
  rejected,
  removed,
  passedOver,
});

/** Sends a table of a bill. */
export const upload = async (
  app: TestApp,
  file: string | Buffer,
  fields: Record<string, string> = {},
  version = 'A',
) => {
  const request = app.http.post(`${at(version)}/import`);
  for (const [name, value] of Object.entries(fields)) void request.field(name, value);
  return request.attach('file', Buffer.from(file as string), 'bill');
};

/** Sends one that is taken. */
export const taken = async (
  app: TestApp,
  file: string | Buffer,
  fields: Record<string, string> = {},
  version = 'A',
): Promise<Report> => {
  const { status, body, text } = await upload(app, file, fields, version);
  if (status !== 200) throw new Error(text);
  return body as Report;
};
