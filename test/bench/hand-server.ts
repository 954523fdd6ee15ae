/**
 * The hand-written counterpart: only Fastify and pg, in a process of its own; prints its address. It works in transactions with the role and
 * scope of the service, so that the same row-level security applies.
 */
import Fastify from 'fastify';
import pg from 'pg';
import { openItems, readCodes, writeRows } from './hand-writer.js';
import type { MadeShift, ShiftBody } from './shift-maker.js';

const STROKES = `select stroke_number as number, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to,
  length_m::text as "lengthM", boring_count as "boringCount", started_at as "startedAt", ended_at as "endedAt",
  boring_hours::text as "boringHours", thrust_kn as "thrustKn", torque_knm as "torqueKnm", rotation_rpm as "rotationRpm",
  penetration_mm_per_rev as "penetrationMmPerRev", gripper_pressure_bar as "gripperPressureBar", muck_mass_t::text as "muckMassT",
  penetration_rate_m_per_h as "penetrationRateMPerH", thrust_per_disc_kn as "thrustPerDiscKn",
  field_penetration_index as "fieldPenetrationIndex", specific_energy_mj_per_m3 as "specificEnergyMjPerM3",
  torque_ratio as "torqueRatio", regular_advance as "regularAdvance"
  from report.stroke where drive_id = $1 and stroke_number > $2 order by stroke_number limit $3`;

const PROGRESS = `select chainage_text(face_chainage_m) as "faceChainage", face_m::text as "faceM", bored_m::text as "boredM",
  missing_m::text as "missingM", remaining_m::text as "remainingM", untimed_m::text as "untimedM", stroke_count as "strokeCount",
  last_bored_at as "lastBoredAt", next_hold_point as "nextHoldPoint", chainage_text(next_hold_point_chainage_m) as "nextHoldPointChainage",
  to_next_hold_point_m::text as "toNextHoldPointM", passed_hold_point_count as "passedHoldPointCount" from report.drive_progress where drive_id = $1`;

interface DrivePath {
  drive: string;
}

const pool = new pg.Pool({
  connectionString: process.env.DATABASE_URL,
  max: 10,
  options: '-c timezone=UTC -c extra_float_digits=-3', // 12 digits, as the service answers
});
const first = await pool.connect();
const codes = await readCodes(first);
const { rows: drives } = await first.query<{ code: string; id: number; projectId: number }>(
  'select code, id, project_id as "projectId" from drive',
);
first.release();
const driveIds = new Map(drives.map(({ code, id }) => [code, id]));

const ENTER = `select set_config('role', 'drivebook_app', true), set_config('search_path', 'report,public', true),
  set_config('drivebook.project', '${drives[0]?.projectId}', true), set_config('drivebook.actor', 'hand', true)`;

/** Does the work in a transaction in the scope. */
const inScope = async <T>(begin: string, work: (client: pg.PoolClient) => Promise<T>): Promise<T> => {
  const client = await pool.connect();
  try {
    await client.query(`${begin}; ${ENTER}`);
    const result = await work(client);
    await client.query('commit');
    return result;
  } catch (error) {
    await client.query('rollback');
    throw error;
  } finally {
    client.release();
  }
};

const app = Fastify({ bodyLimit: 1024 * 1024 });

app.put<{ Params: DrivePath & Pick<MadeShift, 'date' | 'shift'>; Body: ShiftBody }>(
  '/drives/:drive/shifts/:date/:shift',
  async ({ params: { drive, date, shift }, body }, reply) => {
    const missing = await inScope('begin', async (client) =>
      openItems(client, await writeRows(client, codes, driveIds.get(drive) ?? 0, { date, shift, body })),
    );
    return reply.status(201).send({ date, shift, openItems: missing });
  },
);

app.get<{ Params: DrivePath; Querystring: { first: string; after?: string } }>(
  '/drives/:drive/strokes',
  async ({ params, query }) => {
    const limit = Number(query.first);
    const values = [driveIds.get(params.drive), Number(query.after ?? -1), limit + 1];
    const { rows } = await inScope('begin read only', (client) =>
      client.query<{ number: number }>({ name: 'strokes', text: STROKES, values }),
    );
    return rows.length > limit
      ? { items: rows.slice(0, limit), next: rows[limit - 1]?.number }
      : { items: rows };
  },
);

app.get<{ Params: DrivePath }>('/drives/:drive/progress', async ({ params: { drive } }) => {
  const values = [driveIds.get(drive)];
  const { rows } = await inScope('begin read only', (client) =>
    client.query({ name: 'progress', text: PROGRESS, values }),
  );
  return rows[0];
});

const address = await app.listen({ host: '127.0.0.1', port: 0 });
process.stdout.write(`REST ${address}\n`);
process.once('SIGTERM', () => {
  void app.close().then(() => pool.end());
});
