import { shippedFolders } from '../common/database/migrate.js';
import { loadConfig } from '../common/config/config.js';
import { exportLake } from '../features/outputs/lake/export-lake.js';
import { verifyLake } from '../features/outputs/lake/verify-lake.js';
import type { Command } from 'commander';
import { type AddCommand, folderThatExists, notes, ON_DATABASE, print, withJson } from './command.js';
import { asOwner, commandDatabase } from './command-database.js';

interface Options {
  project?: string;
  json?: boolean;
}

const write = async (folder: string, { project, json }: Options): Promise<number> => {
  const ready = await commandDatabase(loadConfig());
  try {
    const result = await asOwner(ready, (client) =>
      exportLake(client, folder, `Drivebook ${shippedFolders.version}`, project),
    );
    const { written, removed, unchanged, rows } = result;
    print(result, json, () => {
      const lines = [...written, ...removed.map((path) => `${path} removed`)];
      return [
        ...lines,
        `${folder}: ${rows} rows; ${written.length} files written, ${unchanged} unchanged, ${removed.length} removed.`,
      ].join('\n');
    });
    return 0;
  } finally {
    await ready.stop();
  }
};

const verify = async (folder: string, { json }: Options): Promise<number> => {
  const check = await verifyLake(folder);
  const { files, rows, faults } = check;
  print(check, json, () =>
    [...faults, `${folder}: ${files} files, ${rows} rows, ${faults.length} faults.`].join('\n'),
  );
  return faults.length === 0 ? 0 : 1;
};

const NOTES = `Examples:
  drivebook lake export /srv/lake
  drivebook lake export /srv/lake --project TRIAL
  drivebook lake verify /srv/lake

An export writes only files whose content has changed. If it is interrupted, the next one completes it;
readers always see complete files. docs/guide/lake.md says how DuckDB, Spark and Trino read them.`;

/** `drivebook lake`: facts, dimensions and machine samples as files of Parquet. */
export const addLake: AddCommand = (program, finish) => {
  const command = program
    .command('lake')
    .summary('write facts and machine samples as Parquet')
    .description(
      'Writes facts, dimensions and machine samples as Parquet files, by project, drive and month.',
    );
  notes(command, NOTES);
  const action = (name: string, summary: string, description: string, text: string): Command =>
    notes(withJson(command.command(name).summary(summary).description(description)), text);
  action(
    'export',
    'write what has changed',
    'Writes facts, dimensions and machine samples into a folder: all of them the first time, what has changed after that.',
    `${NOTES}\n${ON_DATABASE}`,
  )
    .argument('<folder>', 'folder of the lake')
    .option('--project <code>', 'code of the only project to export; all of them when not given')
    .action(async (folder: string, options: Options) => finish(await write(folder, options)));
  action(
    'verify',
    'compare the files with the manifest',
    'Compares the files of a lake with the digests in its manifest; needs no database.',
    NOTES,
  )
    .argument('<folder>', 'folder of the lake', folderThatExists)
    .action(async (folder: string, options: Options) => finish(await verify(folder, options)));
};
