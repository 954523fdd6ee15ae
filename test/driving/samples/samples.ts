import type { MachineSample } from '../../../src/engineering/sample-means.js';
import type { TestApp } from '../../harness/app.js';

export const SAMPLES = '/v1/projects/P1/drives/N/samples';

/** Three samples from the start of the drive, and the map that reads them. */
export const MAP = {
  at: 'Time',
  positionM: 'Position [m]',
  thrustKn: { column: 'Thrust [MN]', factor: 1000 },
  penetrationRateMmPerMin: 'Speed [mm/min]',
};
export const HEAD = 'Time,Position [m],Thrust [MN],Speed [mm/min],Remark';
export const ROWS = [
  '2027-03-01T06:00:00Z,0,0,0,',
  '2027-03-01T06:00:10Z,0.0056,9.25,33.5,"begins, at last"',
  '2027-03-01T07:00:20+01:00,0.01,,40,',
];
export const csv = (rows: string[] = ROWS, head = HEAD): string => `${[head, ...rows].join('\n')}\n`;

export interface Upload {
  file?: string | Buffer;
  map?: object | string;
  fields?: Record<string, string>;
  url?: string;
}

/** Uploads a table, with the map before it. */
export const upload = (
  { http }: TestApp,
  { file = csv(), map = MAP, fields = {}, url = SAMPLES }: Upload = {},
) => {
  const request = http.post(url).field('map', typeof map === 'string' ? map : JSON.stringify(map));
  for (const [name, value] of Object.entries(fields)) void request.field(name, value);
  return request.attach('file', Buffer.from(file as string), 'samples.csv');
};

export const NDJSON = 'application/x-ndjson';

/** Uploads samples, one per line. */
export const uploadLines = ({ http }: TestApp, lines: (object | string)[], url = SAMPLES) =>
  http
    .post(url)
    .set('content-type', NDJSON)
    .send(lines.map((line) => (typeof line === 'string' ? line : JSON.stringify(line))).join('\n'));

/** A sample of the engineering tests as it is uploaded. */
export const asUploaded = ({ atMs, positionMm, ...readings }: MachineSample): object => ({
  at: new Date(atMs).toISOString(),
  positionM: positionMm / 1000,
  ...readings,
});

/** Stored samples, in order of time. */
export const standing = (app: TestApp): Promise<Record<string, unknown>[]> =>
  app.sql(`select to_char(at at time zone 'UTC', 'MM-DD HH24:MI:SS.MS') as at, position_m::text as m, thrust_kn as thrust,
    penetration_rate_mm_per_min as rate from machine_sample order by machine_sample.at`);
