import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, rmSync, statSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type pg from 'pg';
import { to as copyTo } from 'pg-copy-streams';
import { packageRoot } from '../../src/common/package-root.js';
import { spread } from './compare.js';
import type { Comparison } from './comparisons.js';
import { copyDrive, removeCopy } from './load.js';
import { peakOf } from './paper.js';
import { drained } from './rows-out.js';
import { scopedSession, type Setting } from './setting.js';

// The handover package of the large drive by the command, against its facts alone by COPY to a client that discards them.

/** Most resident memory of the command: two thirds of it are needed for any drive. [MB] */
const RESIDENT = 768;

const FACTS = `select relname as name from pg_class c where relnamespace = 'report'::regnamespace and relkind = 'v' and relname like 'fact\\_%'
  and exists (select from pg_attribute a where a.attrelid = c.oid and a.attname = 'drive_id')`;

const copyFacts = async (session: pg.Client, driveId: number): Promise<void> => {
  const { rows } = await session.query<{ name: string }>(FACTS);
  for (const { name } of rows)
    await drained(
      session.query(
        copyTo(`copy (select * from report.${name} where drive_id = ${driveId}) to stdout with (format csv)`),
      ),
    );
};

/** @returns the highest resident memory of the command [MB] */
const handOver = async (databaseUrl: string, target: string): Promise<number> => {
  const command = [path.join(packageRoot, 'dist', 'cli.js'), 'handover', target];
  const child = spawn(process.execPath, [...command, '--project', 'P', '--drive', 'LARGE'], {
    env: { ...process.env, NODE_ENV: 'production', DATABASE_URL: databaseUrl },
    stdio: ['ignore', 'ignore', 'inherit'],
  });
  let peak = 0;
  const watch = setInterval(() => {
    if (child.exitCode === null) peak = Math.max(peak, peakOf(child.pid ?? 0) || 0);
  }, 200);
  const [code] = (await once(child, 'exit')) as [number];
  clearInterval(watch);
  if (code !== 0) throw new Error(`the handover ended with ${code}`);
  return peak;
};

/** One package, because it takes minutes; its files are compressed. */
export const compareHandover = async (setting: Setting): Promise<Comparison[]> => {
  if (!existsSync('/proc/self/status')) return [];
  const folder = mkdtempSync(path.join(os.tmpdir(), 'bench-handover-'));
  const session = await scopedSession(setting);
  try {
    const target = path.join(folder, 'package.zip');
    const { client, driveIds } = setting;
    await removeCopy(client, driveIds.NEIGHBOUR); // a package is refused where the record does not match its history
    const began = performance.now();
    const peak = await handOver(setting.databaseUrl, target);
    const packed = performance.now() - began;
    await copyFacts(session, driveIds.LARGE);
    const copied = performance.now() - began - packed;
    const bytes = statSync(target).size;
    return [
      {
        what: 'handover package of the large drive',
        measure: `resident memory of the command at its peak / ${RESIDENT} MB`,
        ratio: spread([peak / RESIDENT]),
        target: { most: 1 },
        milliseconds: { handover: spread([packed]), 'COPY of its facts': spread([copied]) },
        notes: [
          `${(bytes / 1e6).toFixed(0)} MB in ${(packed / 1000).toFixed(0)} s, resident memory ${Math.round(peak)} MB at its highest`,
        ],
      },
    ];
  } finally {
    await copyDrive(setting.client, setting.driveIds.LARGE, setting.driveIds.NEIGHBOUR);
    await session.end();
    rmSync(folder, { recursive: true });
  }
};
