import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parse } from 'csv-parse/sync';
import type { TestApp } from '../../harness/app.js';

export const STROKES = '/v1/projects/P1/drives/N/strokes';
export const IMPORT = '/v1/projects/P1/drives/N/imports/strokes';

const path = (relative: string): string => fileURLToPath(new URL(relative, import.meta.url));
const nearby = path('../../../../shared/data/open-strokes/strokes-a.csv');
const whole = process.env.OPEN_STROKES_CSV ?? (existsSync(nearby) ? nearby : undefined);

/**
 * The open stroke table (Erharter et al., MIT licence, doi 10.1007/s00603-025-04542-4): the whole file if it is available, otherwise the
 * twelve published rows beside the engineering tests. The counts are the authors' own. The metres are added up by hand from the two
 * columns of positions, with a gap of a centimetre closed where the next stroke follows: of the twelve rows only stroke 0, so
 * 1.70 + 10 × 1.69 + 0.40.
 */
export const OPEN_TABLE = whole
  ? { file: whole, strokes: 589, metres: '1000.000', mean: [473, 116], median: [464, 125], closed: 588 }
  : {
      file: path('../../engineering/open-strokes/sample.csv'),
      strokes: 12,
      metres: '19.000',
      mean: [7, 5],
      median: [8, 4],
      closed: 1,
    };

/** The rows of the open table as published, as text. */
export const publishedRows = (): Record<string, string>[] =>
  parse(readFileSync(OPEN_TABLE.file), { columns: true, bom: true });

export const openMap = (statistic: 'mean' | 'median'): object => ({
  number: 'Stroke number [-]',
  fromM: 'tunnellength stroke start [m]',
  toM: 'tunnellength stroke end [m]',
  penetrationMmPerRev: `Penetration [mm/rot] ${statistic}`,
  thrustKn: `Total advance force [kN] ${statistic}`,
  torqueKnm: { column: `Torque cutterhead [MNm] ${statistic}`, factor: 1000 },
  rotationRpm: `rotations [rpm] ${statistic}`,
});

/** Three strokes from the start of the drive, and the map that reads them. */
export const MAP = { number: 'No', fromM: 'From [m]', toM: 'To [m]', thrustKn: 'Thrust [kN]' };
export const HEAD = 'No,From [m],To [m],Thrust [kN]';
export const ROWS = ['1,0,1.7,9000', '2,1.7,3.4,9100.5', '3,3.4,5.1,'];
export const csv = (rows: string[] = ROWS, head = HEAD): string => `${[head, ...rows].join('\n')}\n`;

/** The same with times. */
export const TIMED_MAP = { ...MAP, startedAt: 'Start', endedAt: 'End' };
export const TIMED_HEAD = `${HEAD},Start,End`;

export interface Upload {
  file?: string | Buffer;
  map?: object | string;
  fields?: Record<string, string>;
  /** address of the list of strokes of the drive */
  url?: string;
}

/** Uploads a table as a browser or curl does. */
export const upload = (
  { http }: TestApp,
  { file = csv(), map = MAP, fields = {}, url = STROKES }: Upload = {},
) => {
  const request = http
    .post(url.replace(/strokes$/, 'imports/strokes'))
    .field('allRows', 'true')
    .field('map', typeof map === 'string' ? map : JSON.stringify(map))
    .attach('file', Buffer.from(file as string), 'strokes.csv');
  for (const [name, value] of Object.entries(fields)) void request.field(name, value);
  return request;
};

export type RefusedCase = [name: string, sent: Upload, pointer: string, detail: string | RegExp];

/** Uploads a table and expects a problem with this fault at this place. */
export const expectFault = async (
  app: TestApp,
  sent: Upload,
  status: number,
  pointer: string,
  detail: string | RegExp,
): Promise<void> => {
  const response = await upload(app, sent);
  expect([response.status, response.headers['content-type']]).toEqual([
    status,
    expect.stringContaining('application/problem+json'),
  ]);
  const fault = response.body.errors.find((error: { pointer: string }) => error.pointer === pointer);
  const said = pointer.startsWith('/rows') ? fault?.detail.replace(/^line \d+: /, '') : fault?.detail;
  if (typeof detail === 'string') expect(said).toBe(detail);
  else expect(said).toMatch(detail);
};
