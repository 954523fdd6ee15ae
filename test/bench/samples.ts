import { once } from 'node:events';
import { readFileSync } from 'node:fs';
import http from 'node:http';
import { Readable } from 'node:stream';
import type pg from 'pg';
import { interleave, ratio, spread, type Variant } from './compare.js';
import type { Comparison } from './comparisons.js';
import { copyIn } from './copy-in.js';
import type { Setting } from './setting.js';

// Machine samples by an upload to the service, against COPY into a staging table and one INSERT … SELECT from there, as a
// hand-written loader has it. Both read the same lines of CSV; the reference checks nothing of them but their types.

export const SAMPLES = 1_000_000;

const ROUNDS = 3;
const START_MS = Date.UTC(2027, 0, 1);
const LINES_A_PIECE = 2000;

const HEAD =
  'Time,Position [m],Thrust [kN],Torque [kNm],Rotation [rpm],Speed [mm/min],Gripper [bar],Muck [t/h]';
const MAP = {
  at: 'Time',
  positionM: 'Position [m]',
  thrustKn: 'Thrust [kN]',
  torqueKnm: 'Torque [kNm]',
  rotationRpm: 'Rotation [rpm]',
  penetrationRateMmPerMin: 'Speed [mm/min]',
  gripperPressureBar: 'Gripper [bar]',
  muckFlowTPerH: 'Muck [t/h]',
};

/** One sample per second, from that second on: a stroke of half an hour and ten minutes without. */
const pieces = (first: number, count: number): Buffer[] => {
  const made: Buffer[] = [];
  for (let from = 0; from < count; from += LINES_A_PIECE) {
    const lines: string[] = from === 0 ? [HEAD] : [];
    for (let index = from; index < Math.min(from + LINES_A_PIECE, count); index += 1) {
      const second = first + index;
      const isBoring = second % 2400 < 1800;
      const noise = ((second * 7919) % 1000) / 1000;
      const position =
        (Math.floor(second / 2400) * 1.8 + (Math.min(second % 2400, 1800) / 1800) * 1.8) % 20_000;
      const readings = isBoring
        ? [9000 + 800 * noise, 1400 + 200 * noise, 6 + noise / 10, 60 + 5 * noise, 280, 400 + 50 * noise]
        : [800, 10, 0, 0, 280, 0];
      const at = new Date(START_MS + second * 1000).toISOString();
      lines.push([at, position.toFixed(4), ...readings.map((value) => value.toFixed(2))].join());
    }
    made.push(Buffer.from(`${lines.join('\n')}\n`));
  }
  return made;
};

const BOUNDARY = 'bench';

/** Uploads as a form. @throws Error unless all are stored */
const send = async (address: string, drive: string, body: Buffer[], count: number): Promise<void> => {
  const part = (name: string, more = ''): string =>
    `--${BOUNDARY}\r\ncontent-disposition: form-data; name="${name}"${more}\r\n\r\n`;
  const request = http.request(`${address}/v1/projects/P/drives/${drive}/samples`, {
    method: 'POST',
    headers: { 'content-type': `multipart/form-data; boundary=${BOUNDARY}` },
  });
  Readable.from([
    Buffer.from(`${part('map')}${JSON.stringify(MAP)}\r\n${part('file', '; filename="samples.csv"')}`),
    ...body,
    Buffer.from(`\r\n--${BOUNDARY}--\r\n`),
  ]).pipe(request);
  const [response] = (await once(request, 'response')) as [http.IncomingMessage];
  const parts: Buffer[] = [];
  for await (const piece of response) parts.push(piece as Buffer);
  const { taken } = JSON.parse(Buffer.concat(parts).toString()) as { taken?: number };
  if (taken !== count)
    throw new Error(`of ${count} samples the service took: ${Buffer.concat(parts).toString()}`);
};

const STAGING = `create temporary table if not exists staging (at timestamptz, position_m numeric, thrust_kn float8, torque_knm float8,
  rotation_rpm float8, penetration_rate_mm_per_min float8, gripper_pressure_bar float8, muck_flow_t_per_h float8)`;

const COLUMNS = `at, position_m, thrust_kn, torque_knm, rotation_rpm, penetration_rate_mm_per_min, gripper_pressure_bar, muck_flow_t_per_h`;

const byHand = async (
  client: pg.Client,
  projectId: number,
  driveId: number,
  body: Buffer[],
  first: number,
  count: number,
): Promise<void> => {
  await client.query('begin');
  await client.query(STAGING);
  await client.query('truncate staging');
  await copyIn(client, 'copy staging from stdin with (format csv, header)', body);
  await client.query(
    `select make_sample_month(month::date) from generate_series(date_trunc('month', $1::timestamptz), $2::timestamptz, interval '1 month') month`,
    [
      new Date(START_MS + first * 1000).toISOString(),
      new Date(START_MS + (first + count) * 1000).toISOString(),
    ],
  );
  const { rowCount } = await client.query(
    `insert into machine_sample (project_id, drive_id, ${COLUMNS}) select $1, $2, ${COLUMNS} from staging on conflict do nothing`,
    [projectId, driveId],
  );
  await client.query('commit');
  if (rowCount !== count) throw new Error(`of ${count} samples COPY brought ${rowCount}`);
};

/** Resident memory of a process: current and peak. [MB]; undefined where the system does not report it */
const memoryOf = (pid: number | undefined): { now: number; highest: number } | undefined => {
  try {
    const status = readFileSync(`/proc/${pid}/status`, 'utf8');
    const mb = (name: string): number =>
      Math.round(Number(new RegExp(`${name}:\\s+(\\d+)`).exec(status)?.[1]) / 1024);
    return { now: mb('VmRSS'), highest: mb('VmHWM') };
  } catch {
    return undefined;
  }
};

export const compareSamples = async (
  { client, projectId, driveIds, service }: Setting,
  count: number,
): Promise<Comparison> => {
  let [ours, hand] = [0, 0];
  const variants: Variant[] = [
    {
      name: 'service',
      prepare: () => {
        const body = pieces(ours, count);
        ours += count;
        return () => send(service.address, 'OURS', body, count);
      },
    },
    {
      name: 'COPY',
      prepare: () => {
        const first = hand;
        const body = pieces(first, count);
        hand += count;
        return () => byHand(client, projectId, driveIds.HAND, body, first, count);
      },
    },
  ];
  const before = memoryOf(service.pid);
  const times = await interleave(variants, ROUNDS, 1);
  const after = memoryOf(service.pid);
  return {
    what: `${count.toLocaleString('en')} machine samples of eight columns, CSV`,
    measure: 'throughput, service / COPY into a staging table and INSERT … SELECT',
    ratio: ratio(times, 'COPY', 'service'),
    target: { least: 0.8 },
    milliseconds: Object.fromEntries(Object.entries(times).map(([name, values]) => [name, spread(values)])),
    notes:
      before && after
        ? [
            `Resident memory of the service: ${before.now} MB before ${ROUNDS + 1} uploads, ${after.now} MB after, ${after.highest} MB at its highest.`,
          ]
        : [],
  };
};
