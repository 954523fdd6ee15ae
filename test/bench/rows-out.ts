import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import { exportLake } from '../../src/features/outputs/lake/export-lake.js';
import { interleave, ratio, type Variant } from './compare.js';
import { type Comparison, milliseconds, PROJECT } from './comparisons.js';
import { ranFor } from './processor-time.js';
import { scopedSession, type Setting } from './setting.js';

// Many rows out of the service: a list as CSV, and the lake, each against COPY of the same rows by a client that discards them.

const ROUNDS = 3;

/** Samples of the drive CONTROL, inserted once: one per second. */
const load = async ({ client, driveIds, projectId }: Setting, count: number): Promise<void> => {
  const { rowCount } = await client.query('select from machine_sample where drive_id = $1 limit 1', [
    driveIds.CONTROL,
  ]);
  if (rowCount === 1) return;
  await client.query(
    `select make_sample_month(m::date) from generate_series(timestamptz '2027-01-01Z', timestamptz '2027-01-01Z' + $1::int * interval '1 s', interval '1 month') m`,
    [count],
  );
  await client.query(
    `insert into machine_sample (project_id, drive_id, at, position_m, thrust_kn, torque_knm, rotation_rpm, penetration_rate_mm_per_min, gripper_pressure_bar, muck_flow_t_per_h)
     select $1, $2, timestamptz '2027-01-01Z' + n * interval '1 s', n / 1000.0, 9000 + n % 800, 1400 + n % 97 / 10.0, 6 + n % 7 / 100.0, 60 + n % 31 / 10.0, 280, case when n % 3 > 0 then 400 + n % 53 / 10.0 end
     from generate_series(0, $3::int - 1) n`,
    [projectId, driveIds.CONTROL, count],
  );
  await client.query('vacuum analyze machine_sample');
};

/** @returns the number of bytes */
export const drained = async (stream: AsyncIterable<unknown>): Promise<number> => {
  let bytes = 0;
  for await (const piece of stream) bytes += (piece as Buffer).length;
  return bytes;
};

interface Out {
  firstByteMs: number;
  rows: string | undefined;
}

const listed = async (address: string, accept: string): Promise<Out> => {
  const start = performance.now();
  const request = http.get(`${address}${PROJECT}/drives/CONTROL/samples`, {
    headers: { accept },
    agent: false,
  });
  const [answer] = (await once(request, 'response')) as [http.IncomingMessage];
  await once(answer, 'readable');
  const firstByteMs = performance.now() - start;
  await drained(answer);
  if (answer.statusCode !== 200) throw new Error(`the list answered ${answer.statusCode}`);
  return { firstByteMs, rows: answer.trailers['x-row-count'] };
};

/**
 * The columns of the list in the same form, but with the line ends of COPY, text in quotation marks only where CSV needs them, and no search for
 * formulas.
 */
const SAME = (drive: number): string =>
  `copy (select to_json(m.at) #>> '{}', chainage_text(d.start_chainage_m + d.direction * m.position_m), m.position_m::text, m.thrust_kn, m.torque_knm, m.rotation_rpm, m.penetration_rate_mm_per_min,
     m.gripper_pressure_bar, m.muck_flow_t_per_h from machine_sample m join drive d on d.id = m.drive_id where m.drive_id = ${drive} order by m.at) to stdout with (format csv, header)`;

/** Twelve digits of a reading, as the service writes it. */
const DIGITS = '-c extra_float_digits=-3';

const residentOf = (pid: number | undefined): number =>
  Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1]) / 1024;

/** The same as lines of JSON, as PostgreSQL writes them. */
const SAME_LINES = (drive: number): string =>
  `copy (select json_build_object('at', m.at, 'position', chainage_text(d.start_chainage_m + d.direction * m.position_m), 'positionM', m.position_m::text, 'thrustKn', m.thrust_kn,
     'torqueKnm', m.torque_knm, 'rotationRpm', m.rotation_rpm, 'penetrationRateMmPerMin', m.penetration_rate_mm_per_min, 'gripperPressureBar', m.gripper_pressure_bar, 'muckFlowTPerH', m.muck_flow_t_per_h)
     from machine_sample m join drive d on d.id = m.drive_id where m.drive_id = ${drive} order by m.at) to stdout`;

/** A list of many rows as CSV and as lines of JSON. */
export const compareListsOut = async (setting: Setting, count: number): Promise<Comparison[]> => {
  await load(setting, count);
  const { driveIds, service } = setting;
  const session = await scopedSession(setting, DIGITS);
  const firsts: number[] = [];
  let cpuMs = 0;
  let [before, highest] = [0, 0];
  const out = (name: string, accept: string): Variant => ({
    name,
    prepare: () => async () => {
      const ran = ranFor(service.pid ?? 0);
      const { firstByteMs, rows } = await listed(service.address, accept);
      if (accept === 'text/csv') cpuMs += ranFor(service.pid ?? 0) - ran;
      firsts.push(firstByteMs);
      if (rows !== undefined && rows !== String(count)) throw new Error(`of ${count} rows ${rows} came`);
    },
  });
  const copied = (name: string, query: (drive: number) => string): Variant => ({
    name,
    prepare: () => () => drained(session.query(copyTo(query(driveIds.CONTROL)))),
  });
  await listed(service.address, 'text/csv');
  before = residentOf(service.pid);
  const watch = setInterval(() => (highest = Math.max(highest, residentOf(service.pid))), 50);
  const times = await interleave(
    [
      out('CSV', 'text/csv'),
      out('NDJSON', 'application/x-ndjson'),
      copied('COPY of CSV', SAME),
      copied('COPY of lines', SAME_LINES),
    ],
    ROUNDS,
    1,
  );
  clearInterval(watch);
  await session.end();
  const what = `${count.toLocaleString('en')} machine samples of nine columns, as a list by`;
  const forms = { CSV: 'COPY of CSV', NDJSON: 'COPY of lines' };
  return Object.entries(forms).map(([form, copy]) => ({
    what: `${what} ${form}`,
    measure: `throughput, service / ${copy} with the same columns`,
    ratio: ratio(times, copy, form),
    target: { least: 0.7 },
    milliseconds: milliseconds({ [form]: times[form] ?? [], [copy]: times[copy] ?? [] }),
    notes: [
      `Processor time of Node for a list as CSV: ${Math.round(cpuMs / (ROUNDS + 1))} ms.`,
      `First byte after ${Math.round(Math.max(...firsts))} ms at most; resident memory of the service ${Math.round(before)} MB after the first list, ${Math.round(highest)} MB at its highest.`,
    ],
  }));
};

/** Of all drives: other parts leave theirs. */
const sampleRows = async (client: pg.Client): Promise<number> =>
  Number((await client.query<{ n: string }>('select count(*) as n from machine_sample')).rows[0]?.n);

/** An export of the samples to an empty lake, and one that has nothing to write. */
export const compareLake = async (setting: Setting, count: number): Promise<Comparison> => {
  await load(setting, count);
  const { databaseUrl } = setting;
  const root = mkdtempSync(path.join(os.tmpdir(), 'bench-lake-'));
  const exported = async (folder: string): Promise<void> => {
    const client = new pg.Client({ connectionString: databaseUrl });
    await client.connect();
    try {
      await exportLake(client, folder, 'bench');
    } finally {
      await client.end();
    }
  };
  const copied = async (): Promise<void> => {
    const client = new pg.Client({ connectionString: databaseUrl });
    await client.connect();
    try {
      await drained(
        client.query(
          copyTo('copy (select * from machine_sample order by drive_id, at) to stdout with (format binary)'),
        ),
      );
    } finally {
      await client.end();
    }
  };
  let made = 0;
  try {
    await exported(path.join(root, 'kept'));
    const times = await interleave(
      [
        { name: 'into an empty folder', prepare: () => () => exported(path.join(root, String((made += 1)))) },
        { name: 'nothing to write', prepare: () => () => exported(path.join(root, 'kept')) },
        { name: 'COPY', prepare: () => copied },
      ],
      ROUNDS,
      1,
    );
    const median = milliseconds(times)['into an empty folder']?.median ?? NaN;
    const rows = await sampleRows(setting.client);
    return {
      what: `the lake of a small record and ${rows.toLocaleString('en')} machine samples`,
      measure: 'throughput, into an empty folder / COPY of the samples in binary form, kept nowhere',
      ratio: ratio(times, 'COPY', 'into an empty folder'),
      target: { least: 0.3 },
      milliseconds: milliseconds(times),
      notes: [`${Math.round(rows / (median / 1000)).toLocaleString('en')} rows a second (goal 200,000).`],
    };
  } finally {
    rmSync(root, { recursive: true });
  }
};
