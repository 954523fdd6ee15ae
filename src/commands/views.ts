import { loadConfig } from '../common/config/config.js';
import { migrate, shippedFolders } from '../common/database/migrate.js';
import { type AddCommand, notes, ON_DATABASE, print, withJson } from './command.js';
import { commandReach } from './command-database.js';

const replace = async ({ json }: { json?: boolean }): Promise<number> => {
  const database = await commandReach(loadConfig());
  try {
    await migrate(database.ownerUrl, shippedFolders, true);
    const { version } = shippedFolders;
    print({ version }, json, () => `The report views are those of this build, ${version}.`);
    return 0;
  } catch (error) {
    throw new Error(
      `${(error as Error).message}\nWhere a newer view cannot be replaced by an older one, run "drop schema report cascade" as the owner first; grants on it are lost.`,
      { cause: error },
    );
  } finally {
    await database.stop();
  }
};

const NOTES = `Examples:
  drivebook views replace

${ON_DATABASE}`;

/** `drivebook views replace`: deliberately restores the views of an older build. */
export const addViews: AddCommand = (program, finish) => {
  const views = program.command('views').description('the report views');
  const command = views
    .command('replace')
    .summary("install this build's report views after a downgrade")
    .description(
      'Installs the report views of this build, whichever build the present ones are from. A start does not: an older build that starts again during a rolling upgrade leaves the views of the newer one. Use it after a deliberate downgrade, when no instance of the newer build runs any more.',
    )
    .action(async (options: { json?: boolean }) => finish(await replace(options)));
  for (const each of [views, withJson(command)]) notes(each, NOTES);
};
