import type { Config } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import { StrokeValuesService } from '../features/strokes/stroke-values.service.js';
import { readyDatabase } from '../service.js';
import { allProjects, commandScope } from './command-scope.js';

/** `drivebook recompute`: computes the values stored with all borings anew, from readings and machine. */
export const recompute = async (config: Config): Promise<number> => {
  const ready = await readyDatabase(config);
  const database = new Database(ready.url, 1);
  const values = new StrokeValuesService(database);
  try {
    let changed = 0;
    for (const project of await allProjects(database))
      changed += await inScope(await commandScope(database, project), () => values.rebuildAll());
    process.stdout.write(`${changed} borings changed.\n`);
  } finally {
    await database.close();
    await ready.stop();
  }
  return 0;
};
