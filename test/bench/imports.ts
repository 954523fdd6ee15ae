import { once } from 'node:events';
import http from 'node:http';
import type pg from 'pg';
import { interleave, ratio, type Variant } from './compare.js';
import { type Comparison, milliseconds, PROJECT } from './comparisons.js';
import { copyIn } from './copy-in.js';
import { ranFor } from './processor-time.js';
import { type DriveCode, scopedSession, type Setting } from './setting.js';

// Tables of records by the general import, against COPY into a staging table and one INSERT … SELECT with the same checks, as a hand-written
// loader would do: both as the service's role in its scope, with constraints, row-level security and history, and both leave the tables that
// have grown analysed.

/** Of a service that has just started the first ten thousand rows take twice the processor time of later ones. */
const ROUNDS = 7;

interface Kind {
  kind: string;
  /** of a table; one request takes 5,000 at most */
  rows: number;
  head: string;
  /** @param n  index from 0, over all rows of a drive */
  row(n: number): string;
  /** columns of the staging table */
  columns: string;
  /** inserts from it into drive $1, from $2 to $3 m in direction $4 */
  insert: string;
}

const DRIVEN = (chainage: string): string => `$4::int * (${chainage} - $2::numeric)`;

const chainage = (metres: number): string => (1000 + metres).toFixed(3);

const KINDS: Kind[] = [
  {
    kind: 'discontinuities',
    rows: 5000,
    head: 'name,chainage,type,dipDeg,dipDirectionDeg,set,spacingM,roughness,mappedBy',
    row: (n) =>
      `D${n},${chainage((n % 19_000) + (n % 7) / 10)},joint,${n % 90},${n % 360},J${n % 4},0.${1 + (n % 8)},rough,geologist`,
    columns:
      'name text, chainage numeric, type discontinuity_type, dip numeric, direction numeric, "set" text, spacing numeric, roughness discontinuity_roughness, mapped_by text',
    insert: `insert into discontinuity (drive_id, name, at_m, type, dip_deg, dip_direction_deg, set_label, spacing_m, roughness, mapped_by, pole_east, pole_north, pole_down)
      select $1::int, name, ${DRIVEN('chainage')}, type, dip, direction, "set", spacing, roughness, mapped_by,
        -sind(dip) * sind(direction), -sind(dip) * cosd(direction), cosd(dip)
      from staging where chainage between $2 and $3 and name ~ '^[A-Za-z0-9._-]{1,50}$' on conflict (drive_id, name) do nothing`,
  },
  {
    kind: 'overbreak',
    rows: 1000,
    head: 'name,from,to,cause,volumeM3,remark',
    row: (n) =>
      `O${n},${chainage(n * 0.9)},${chainage(n * 0.9 + 0.5)},geological,${((n % 50) / 10 + 0.1).toFixed(1)},surveyed`,
    columns: 'name text, "from" numeric, "to" numeric, cause overbreak_cause, volume numeric, remark text',
    insert: `insert into overbreak_item (drive_id, name, from_m, to_m, cause, volume_m3, volume_surveyed, remark)
      select $1::int, name, ${DRIVEN('"from"')}, ${DRIVEN('"to"')}, cause, volume, true, remark
      from staging where "from" between $2 and $3 and "to" > "from" and name ~ '^[A-Za-z0-9._-]{1,50}$' on conflict (drive_id, name) do nothing`,
  },
];

const tableOf = ({ head, row, rows }: Kind, first: number): Buffer =>
  Buffer.from(`${[head, ...Array.from({ length: rows }, (_, n) => row(first + n))].join('\n')}\n`);

const BOUNDARY = 'bench';

/** @throws Error unless all rows are created */
const send = async (
  address: string,
  drive: DriveCode,
  { kind, rows }: Kind,
  table: Buffer,
): Promise<void> => {
  const request = http.request(`${address}${PROJECT}/drives/${drive}/imports/${kind}`, {
    method: 'POST',
    headers: { 'content-type': `multipart/form-data; boundary=${BOUNDARY}` },
  });
  request.write(
    `--${BOUNDARY}\r\ncontent-disposition: form-data; name="chainages"\r\n\r\nm\r\n--${BOUNDARY}\r\ncontent-disposition: form-data; name="file"; filename="t.csv"\r\n\r\n`,
  );
  request.write(table);
  request.end(`\r\n--${BOUNDARY}--\r\n`);
  const [response] = (await once(request, 'response')) as [http.IncomingMessage];
  const parts: Buffer[] = [];
  for await (const piece of response) parts.push(piece as Buffer);
  const text = Buffer.concat(parts).toString();
  if ((JSON.parse(text) as { created?: number }).created !== rows)
    throw new Error(`the import answered: ${text.slice(0, 1000)}`);
};

const byHand = async (
  session: pg.Client,
  driveId: number,
  { columns, insert, rows: count }: Kind,
  table: Buffer,
): Promise<void> => {
  const { rows } = await session.query<{ start: string; low: string; high: string; direction: number }>(
    `select start_chainage_m as start, least(start_chainage_m, end_chainage_m) as low, greatest(start_chainage_m, end_chainage_m) as high, direction from drive where id = $1`,
    [driveId],
  );
  const [drive] = rows;
  await session.query('begin');
  await session.query(`create temporary table staging (${columns}) on commit drop`);
  await copyIn(session, 'copy staging from stdin with (format csv, header)', [table]);
  const { rowCount } = await session.query(insert, [driveId, drive?.start, drive?.high, drive?.direction]);
  await session.query('commit');
  await session.query('select analyse_grown()');
  if (rowCount !== count) throw new Error(`of ${count} rows COPY brought ${rowCount}`);
};

const compareKind = async (setting: Setting, session: pg.Client, kind: Kind): Promise<Comparison> => {
  const { service, driveIds } = setting;
  let [ours, hand] = [0, 0];
  let cpuMs = 0;
  const variants: Variant[] = [
    {
      name: 'service',
      prepare: () => {
        const table = tableOf(kind, ours);
        ours += kind.rows;
        return async () => {
          const before = ranFor(service.pid ?? 0);
          await send(service.address, 'OURS', kind, table);
          cpuMs += ranFor(service.pid ?? 0) - before;
        };
      },
    },
    {
      name: 'COPY',
      prepare: () => {
        const table = tableOf(kind, hand);
        hand += kind.rows;
        return () => byHand(session, driveIds.HAND, kind, table);
      },
    },
  ];
  const times = await interleave(variants, ROUNDS, 1);
  return {
    what: `${kind.rows.toLocaleString('en')} ${kind.kind} by a table`,
    measure: 'throughput, service / COPY into a staging table and INSERT … SELECT with the same checks',
    ratio: ratio(times, 'COPY', 'service'),
    target: { least: 0.5 },
    milliseconds: milliseconds(times),
    notes: [`Processor time of Node: ${(cpuMs / (ROUNDS + 1) / kind.rows).toFixed(2)} ms a row.`],
  };
};

export const compareImports = async (setting: Setting): Promise<Comparison[]> => {
  const session = await scopedSession(setting);
  try {
    const found: Comparison[] = [];
    for (const kind of KINDS) found.push(await compareKind(setting, session, kind));
    return found;
  } finally {
    await session.end();
  }
};
