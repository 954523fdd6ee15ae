import type { TestApp } from '../../harness/app.js';

export const URL = '/v1/projects/P1/drives/N';

export const Q_INPUT = {
  edition: 'q-2013',
  location: 'normal',
  jn: { row: 'F' },
  jr: { row: 'E' },
  ja: { row: 'B' },
  jw: { row: 'A' },
  srf: { row: 'G' },
};

export const RMR_INPUT = {
  edition: 'rmr-1989',
  strengthBy: 'ucs',
  condition: 'highly_weathered',
  groundwaterBy: 'state',
  orientation: 'fair',
};

/** A log with all inputs of Q and RMR. */
export const LOG = {
  from: '1+210',
  to: '1+220',
  faceChainage: '1+222.5',
  mappedBy: 'Ada',
  mappedAt: '2027-03-01T12:00:00Z',
  lithology: 'Granite gneiss',
  ucsMpa: 150,
  pointLoadMpa: 6,
  rqdPercent: 80,
  jvPerM3: 10,
  jointSpacingM: 1,
  jointFrequencyPerM: 10,
  waterInflowLPerMinPer10M: 5,
  waterPressureRatio: 0.05,
  waterState: 'damp',
  gsi: '65',
  remark: 'Left wall wet',
};

export const putLog = async (
  { http }: TestApp,
  name: string,
  log: object,
): Promise<Record<string, unknown>> => {
  const { status, text, body } = await http.put(`${URL}/ground-logs/${name}`).send(log);
  if (status >= 300) throw new Error(text);
  return body as Record<string, unknown>;
};
