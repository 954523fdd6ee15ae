import type { Config } from '../common/config/config.js';
import { Database } from '../common/database/database.js';
import { inScope } from '../common/database/scope.js';
import { GroundLogValuesService } from '../features/ground-logs/ground-log-values.service.js';
import { StrokeValuesService } from '../features/strokes/stroke-values.service.js';
import { readyDatabase } from '../service.js';
import { allProjects, commandScope } from './command-scope.js';

/** `drivebook recompute`: computes the values stored with all borings and ground logs anew. */
export const recompute = async (config: Config): Promise<number> => {
  const ready = await readyDatabase(config);
  const database = new Database(ready.url, 1);
  const [strokes, logs] = [new StrokeValuesService(database), new GroundLogValuesService(database)];
  try {
    const changed = { borings: 0, logs: 0 };
    for (const project of await allProjects(database))
      await inScope(await commandScope(database, project), async () => {
        changed.borings += await strokes.rebuildAll();
        changed.logs += await logs.rebuildAll();
      });
    process.stdout.write(`${changed.borings} borings and ${changed.logs} ground logs changed.\n`);
  } finally {
    await database.close();
    await ready.stop();
  }
  return 0;
};
