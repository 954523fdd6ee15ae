import { mkdtempSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { startEmbeddedPostgres } from '../../src/common/database/embedded-postgres.js';
import { migrate } from '../../src/common/database/migrate.js';
import { packageRoot } from '../../src/common/package-root.js';
import { clientDrives } from './clients.js';
import { addCatalogue, addDrive, copyDrive, loadLargeDrive } from './load.js';
import { Connection, type Server, startServer } from './processes.js';

export const DRIVES = ['LARGE', 'NEIGHBOUR', 'OURS', 'HAND', 'CONTROL', 'NEW'] as const;
export type DriveCode = (typeof DRIVES)[number];

export interface Loaded {
  borings: number;
  supportLines: number;
  seconds: number;
  copySeconds: number;
}

/** The database with its drives, the service and two hand-written servers, each with one connection to it. */
export interface Setting {
  databaseUrl: string;
  client: pg.Client;
  driveIds: Record<DriveCode, number>;
  projectId: number;
  /** A moment after the large drive was loaded. */
  loadedAt: string;
  loaded: Loaded;
  /** A separate service, for measurements that need more than one connection. */
  service: Server;
  /** A separate hand-written server, likewise. */
  handWritten: Server;
  ours: Connection;
  hand: Connection;
  control: Connection;
  stop(): Promise<void>;
}

/** PostgreSQL as in production: every commit reaches the disk. */
const startDatabase = async (): Promise<{ url: string; stop(): Promise<void> }> => {
  const dataDir = mkdtempSync(path.join(os.tmpdir(), `drivebook-${process.pid}-bench-`));
  rmSync(dataDir, { recursive: true }); // recreated by the start, accessible to PostgreSQL's user
  const server = await startEmbeddedPostgres({
    dataDir,
    dataDirChosen: false,
    database: 'bench',
    persistent: true,
  });
  return {
    url: server.url,
    stop: async () => {
      await server.stop();
      rmSync(server.dataDir, { recursive: true, force: true });
    },
  };
};

const load = async (
  client: pg.Client,
  isLarge: boolean,
): Promise<Pick<Setting, 'driveIds' | 'projectId' | 'loadedAt' | 'loaded'>> => {
  await addCatalogue(client);
  const driveIds = Object.fromEntries(DRIVES.map((code) => [code, 0])) as Setting['driveIds'];
  for (const code of DRIVES) driveIds[code] = await addDrive(client, code);
  for (const code of [...clientDrives('OURS'), ...clientDrives('HAND')]) await addDrive(client, code);
  const loaded = isLarge
    ? await loadLargeDrive(client, driveIds.LARGE)
    : { seconds: 0, borings: 0, supportLines: 0 };
  const start = performance.now();
  if (isLarge) await copyDrive(client, driveIds.LARGE, driveIds.NEIGHBOUR);
  const copySeconds = (performance.now() - start) / 1000;
  await client.query('vacuum analyze');
  const { rows } = await client.query<{ id: number }>('select id from project');
  return {
    driveIds,
    projectId: rows[0]?.id ?? 0,
    loadedAt: new Date().toISOString(),
    loaded: { ...loaded, copySeconds },
  };
};

/** @param isLarge  whether the large drive and its neighbour are loaded */
export const startSetting = async (say: (text: string) => void, isLarge: boolean): Promise<Setting> => {
  const database = await startDatabase();
  const client = new pg.Client({ connectionString: database.url, options: '-c timezone=UTC' });
  const servers: Server[] = [];
  const connections: Connection[] = [];
  const stop = async (): Promise<void> => {
    for (const connection of connections) connection.close();
    for (const server of servers) await server.stop();
    await client.end();
    await database.stop();
  };
  try {
    await migrate(database.url);
    await client.connect();
    say('loading the drives …');
    const loading = await load(client, isLarge);
    say('starting the servers …');
    const start = async (...command: string[]): Promise<Server> => {
      const server = await startServer(database.url, ...command);
      servers.push(server);
      return server;
    };
    const connect = ({ address }: Server): Connection => {
      const connection = new Connection(address);
      connections.push(connection);
      return connection;
    };
    const byHand = path.join(import.meta.dirname, 'hand-server.mjs');
    const service = await start(path.join(packageRoot, 'dist', 'cli.js'), 'serve');
    const ours = connect(service);
    const handWritten = await start(byHand);
    const hand = connect(handWritten);
    const control = connect(await start(byHand));
    return { databaseUrl: database.url, client, ...loading, service, handWritten, ours, hand, control, stop };
  } catch (error) {
    await stop();
    throw error;
  }
};

const ENTER = `select set_config('drivebook.project', $1, false), set_config('drivebook.actor', 'hand', false)`;

/**
 * Another session in the role and scope of the service.
 * @param options  further settings
 */
export const scopedSession = async (
  { databaseUrl, projectId }: Setting,
  options = '',
): Promise<pg.Client> => {
  const session = new pg.Client({
    connectionString: databaseUrl,
    options: `-c timezone=UTC -c role=drivebook_app -c search_path=report,public ${options}`,
  });
  await session.connect();
  await session.query(ENTER, [String(projectId)]);
  return session;
};
